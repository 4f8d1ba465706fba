"""The picture of the day: each machine a line of time with its jobs, what is late, what waits.

Input: a day plan and the shop's hours. Output: sheets: the day's bars on top, then each machine's
jobs in order with cones to change, then what waits and why.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from gettext import gettext as _
from gettext import ngettext
from typing import TYPE_CHECKING

from firstpiece.model.page import INK
from firstpiece.paperwork.flow import Place, Strip, flow_strips, gap
from firstpiece.paperwork.form import (
    Field,
    Head,
    begin_sheet,
    draw_feet,
    draw_fields,
    heading_strip,
    note_strips,
    paragraph_strips,
)
from firstpiece.paperwork.sheet import ACCENT, BODY, CAPTION, LABEL, MARGIN_MM, RULE, SMALL, Face

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from firstpiece.model.day import ConeChange, DayPlan, HeadPlan, Slot, WorkWeek
    from firstpiece.model.material import RGB
    from firstpiece.model.page import Page
    from firstpiece.model.paper import FontMetrics
    from firstpiece.paperwork.sheet import Sheet

    Draw = Callable[[Sheet, float], None]

LABEL_MM = 30.0
BAR_MM = 11.0
ROW_MM = 15.0
BAR_FILL: RGB = (239, 233, 222)
LATE_FILL: RGB = (248, 226, 217)
MOST_DAYS = 5
"""Days shown as bars; what comes later stands in the lists."""


@dataclass(frozen=True, slots=True, eq=False)
class DayPaper:
    """What the picture is drawn from."""

    plan: DayPlan
    start: date
    week: WorkWeek
    metrics: FontMetrics
    paper: str = "A4"

    @property
    def days(self) -> tuple[date, ...]:
        """The working days from the first to the one on which the last job ends."""
        ends = [slot.end_min for head in self.plan.heads for slot in head.slots]
        last = self.week.moment(self.start, max(ends, default=1.0)).date()
        found: list[date] = []
        day = self.start
        while day <= last and len(found) < MOST_DAYS:
            if self.week.is_working(day):
                found.append(day)
            day += timedelta(days=1)
        return tuple(found)


def draw_day(paper: DayPaper) -> tuple[Page, ...]:
    """Return the sheets of a day plan; the same plan gives the same pages."""
    title = _("The day, {day}").format(day=_say_day(paper.start))
    head = Head(title, _("Day plan"), _("from {day} on").format(day=paper.start.isoformat()))
    first = begin_sheet(paper.paper, paper.metrics, head)
    y = draw_fields(first.sheet, first.y_mm + 3.0, _fields(paper))
    strips = [*_bar_strips(paper), *_late_strips(paper)]
    for machine in paper.plan.heads:
        strips += _machine_strips(paper, machine)
    strips += _waiting_strips(paper)
    sheets, _end = flow_strips(
        strips, Place(first.sheet, y), lambda: begin_sheet(paper.paper, paper.metrics, head)
    )
    every = [first.sheet, *sheets]
    draw_feet(every, _("{title} · times are the forecast's middle values").format(title=title))
    return tuple(sheet.page(title) for sheet in every)


def _fields(paper: DayPaper) -> list[Field]:
    plan = paper.plan
    slots = [slot for head in plan.heads for slot in head.slots]
    late = _("{n} (no plan has fewer than {bound})").format(n=len(plan.late), bound=plan.late_bound)
    if not plan.late:
        late = _("none")
    return [
        Field(_("jobs planned"), str(len(slots)), 0.8),
        Field(_("pieces"), str(sum(slot.job.pieces for slot in slots)), 0.7),
        Field(_("late"), late, 1.8),
        Field(_("cone changes"), _("{n} (at least {bound})").format(
            n=plan.n_changes, bound=plan.changes_bound), 1.2),
        Field(_("waiting"), str(len(plan.waiting)), 0.7),
    ]  # fmt: skip


def _bar_strips(paper: DayPaper) -> list[Strip]:
    strips: list[Strip] = []
    for day in paper.days:
        strips.append(heading_strip(_say_day(day)))
        strips.append(Strip(5.0, _hours_drawer(paper), leads=True))
        strips += [
            Strip(ROW_MM, _bar_drawer(paper, machine, day), leads=i + 1 < len(paper.plan.heads))
            for i, machine in enumerate(paper.plan.heads)
        ]
    return strips


def _hours_drawer(paper: DayPaper) -> Draw:
    """Return what draws the hours of the clock over the bars."""
    week = paper.week

    def draw(sheet: Sheet, y: float) -> None:
        left, width = MARGIN_MM + LABEL_MM, sheet.measure_mm - LABEL_MM
        minutes, step = week.minutes_per_day, 60 if week.minutes_per_day <= 720 else 120
        for minute in range(0, minutes + 1, step):
            x = left + width * minute / minutes
            hour = (week.begins.hour * 60 + week.begins.minute + minute) // 60
            align = "right" if minute == minutes else "centre" if minute else "left"
            sheet.text(x, y - 4.0, f"{hour}", Face(CAPTION.size_pt, rgb=LABEL, align=align))

    return draw


def _bar_drawer(paper: DayPaper, machine: HeadPlan, day: date) -> Draw:
    """Return what draws one machine's jobs of one day."""
    per_day = float(paper.week.minutes_per_day)
    begin = paper.week.minutes_until(paper.start, day) - per_day

    def draw(sheet: Sheet, y: float) -> None:
        left, width = MARGIN_MM + LABEL_MM, sheet.measure_mm - LABEL_MM
        sheet.paragraph(MARGIN_MM, y - 2.4, machine.head.label, LABEL_MM - 3.0, SMALL)
        sheet.rule(left, y - 1.5 - BAR_MM, sheet.right_mm, rgb=RULE)
        for slot in machine.slots:
            start, end = max(slot.begin_min, begin), min(slot.end_min, begin + per_day)
            if end <= start:
                continue
            x0 = left + width * (start - begin) / per_day
            x1 = left + width * (end - begin) / per_day
            _draw_bar(sheet, (x0, y - 1.5), x1 - x0, slot)

    return draw


def _draw_bar(sheet: Sheet, corner: tuple[float, float], width: float, slot: Slot) -> None:
    x, top = corner
    fill, stroke = (LATE_FILL, ACCENT) if slot.is_late else (BAR_FILL, INK)
    sheet.box(x, top - BAR_MM, (width, BAR_MM), fill, stroke)
    room = width - 1.6
    if room < 3.0:
        return
    number = f"{slot.job.job}"
    sheet.fit(x + 0.8, top - 4.2, number, room, Face(9.0, "bold", ACCENT if slot.is_late else INK))
    if room > 9.0:
        pieces = ngettext("{n} piece", "{n} pieces", slot.job.pieces).format(n=slot.job.pieces)
        sheet.fit(x + 0.8, top - 9.0, f"{slot.job.title}, {pieces}", room, CAPTION)


def _late_strips(paper: DayPaper) -> list[Strip]:
    if not paper.plan.late:
        return []
    box = (MARGIN_MM, 180.0)
    lines = [_late_line(paper, slot) for slot in paper.plan.late]
    face = Face(BODY.size_pt, rgb=ACCENT)
    return [
        heading_strip(_("Late")),
        *[strip for line in lines for strip in paragraph_strips(line, box, paper.metrics, face)],
    ]


def _late_line(paper: DayPaper, slot: Slot) -> str:
    done = paper.week.moment(paper.start, slot.end_min)
    return _("Job {number}, {title}: due {due}, done {day} {time}, {late} late.").format(
        number=slot.job.job,
        title=slot.job.title,
        due=slot.job.due.isoformat() if slot.job.due else _("at no day"),
        day=_say_day(done.date()),
        time=f"{done:%H:%M}",
        late=say_minutes(slot.late_min),
    )


def say_minutes(minutes: float) -> str:
    """Return minutes as hours and minutes of work ("2 h 05 min")."""
    whole = round(minutes)
    hours, rest = divmod(whole, 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


def _machine_strips(paper: DayPaper, machine: HeadPlan) -> list[Strip]:
    if not machine.slots:
        return []
    box = (MARGIN_MM + 14.0, 166.0)
    strips = [heading_strip(machine.head.label)]
    if machine.first_loading:
        text = _("To begin with: {cones}.").format(cones=say_changes(machine.first_loading))
        strips += paragraph_strips(text, (MARGIN_MM, 180.0), paper.metrics, SMALL)
        strips.append(gap(1.5))
    for slot in machine.slots:
        strips.append(Strip(5.2, _slot_drawer(paper, slot), leads=True))
        strips += note_strips(_slot_note(slot), box, paper.metrics)
        strips.append(gap(1.6))
    return strips


def _slot_drawer(paper: DayPaper, slot: Slot) -> Draw:
    """Return what draws a job's own line: number, times, title, pieces, due."""
    begin = paper.week.moment(paper.start, slot.begin_min + 1e-6)
    end = paper.week.moment(paper.start, slot.end_min)
    over = (
        f"{begin:%a %H:%M}–{end:%H:%M}"
        if begin.date() == end.date()
        else (f"{begin:%a %H:%M}–{end:%a %H:%M}")
    )
    due = _("due {day}").format(day=slot.job.due) if slot.job.due else _("no due day")
    rgb = ACCENT if slot.is_late else INK

    def draw(sheet: Sheet, y: float) -> None:
        sheet.rule(MARGIN_MM, y - 0.2, sheet.right_mm)
        sheet.fit(MARGIN_MM, y - 4.2, str(slot.job.job), 12.0, Face(9.0, "bold", rgb))
        sheet.fit(MARGIN_MM + 14.0, y - 4.2, slot.job.title, 74.0, Face(9.0, "bold"))
        pieces = ngettext("{n} piece", "{n} pieces", slot.job.pieces).format(n=slot.job.pieces)
        sheet.fit(MARGIN_MM + 92.0, y - 4.2, pieces, 20.0, BODY)
        sheet.fit(MARGIN_MM + 114.0, y - 4.2, over, 40.0, BODY)
        right = Face(9.0, rgb=rgb, align="right")
        sheet.fit(sheet.right_mm, y - 4.2, due, 32.0, right)

    return draw


def _slot_note(slot: Slot) -> str:
    job = slot.job
    parts = [
        _("hoop {hoop}").format(hoop=job.hoop) if job.hoop else "",
        _("backing {backing}").format(backing=job.backing) if job.backing else "",
        _("topping {topping}").format(topping=job.topping) if job.topping else "",
        _("colourway {name}").format(name=job.colorway) if job.colorway else "",
        _("change {cones}").format(cones=say_changes(slot.changes)) if slot.changes else
        _("no cone to change"),
        *(_("waits for {thing}").format(thing=thing) for thing in job.missing),
    ]  # fmt: skip
    return "; ".join(part for part in parts if part) + "."


def say_changes(changes: Sequence[ConeChange]) -> str:
    """Return changes of cones for a reader ("needle 3: navy (75/11 ball) for sand")."""
    told = []
    for change in changes:
        text = _("needle {n}: {on}") if change.off is None else _("needle {n}: {on} for {off}")
        told.append(
            text.format(
                n=change.needle,
                on=f"{change.on.color} ({change.on.needle_words})",
                off=change.off.color if change.off else "",
            )
        )
    return ", ".join(told)


def _waiting_strips(paper: DayPaper) -> list[Strip]:
    if not paper.plan.waiting:
        return []
    strips = [heading_strip(_("Waiting"))]
    for waiting in paper.plan.waiting:
        text = _("Job {number}, {title}: {reason}.").format(
            number=waiting.job.job, title=waiting.job.title, reason=waiting.reason
        )
        strips += paragraph_strips(text, (MARGIN_MM, 180.0), paper.metrics)
    return strips


def _say_day(day: date) -> str:
    """Return a day of the week with its date."""
    names = (_("Monday"), _("Tuesday"), _("Wednesday"), _("Thursday"), _("Friday"), _("Saturday"),
             _("Sunday"))  # fmt: skip
    return f"{names[day.weekday()]} {day.isoformat()}"
