"""The shop's day: open jobs onto its machines, with what each lacks, as of now."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import JobError
from firstpiece.files.fonts import read_font_metrics
from firstpiece.files.pdf import rasterise_pdf, write_pdf
from firstpiece.files.picture import write_png
from firstpiece.files.safe_write import write_together
from firstpiece.files.work_week import read_work_week
from firstpiece.model.day import Cone, Head, SewingJob, WorkWeek
from firstpiece.model.job import JobState
from firstpiece.model.stock import SupplyKind
from firstpiece.model.ticket import count_pieces_of
from firstpiece.paperwork.day_picture import DayPaper, draw_day
from firstpiece.scheduling.stage import plan_day
from firstpiece.shop.book import now, open_book
from firstpiece.shop.cards import open_cards
from firstpiece.shop.job_needs import FIRM, design_of, threads_of
from firstpiece.shop.job_setup import advise_design
from firstpiece.shop.needles import MachineNeedles, list_needles, loaded_cones
from firstpiece.shop.stock_book import list_buying, open_jobs, shelf_words
from firstpiece.store.home import home_folder
from firstpiece.store.needles import put_needles, read_needles

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from firstpiece.files.material_card import CardDrawer
    from firstpiece.model.buying import Share
    from firstpiece.model.day import DayPlan
    from firstpiece.model.design import Revision
    from firstpiece.model.job import Job
    from firstpiece.model.page import Page
    from firstpiece.model.stock import SupplyKey
    from firstpiece.model.ticket import PieceEvent

SET_UP_MIN = 10.0
"""To load a design, set the hoop and trace its box (guess)."""

PICTURE_DPI = 150.0
AT_HAND = (JobState.SUPPLIED, JobState.SEWING)


@dataclass(frozen=True, slots=True)
class ShopDay:
    """A plan that begins on the morning of ``start`` and goes on through the days after it."""

    start: date
    week: WorkWeek
    plan: DayPlan


def plan_shop_day(start: date | None = None) -> ShopDay:
    """Return the plan of all agreed jobs on the shop's machines from a day on, or from today.

    What is missing is looked up in stock, so after a blank has arrived the plan is another.

    Raises
    ------
    CardError, StoreError, BusyError
    """
    begin = start or date.today()  # noqa: DTZ011 - the shop's own day
    week = read_work_week(home_folder() / "settings.toml")
    cards = open_cards()
    with open_book().read() as connection:
        jobs = open_jobs(connection, FIRM)
        loaded = read_needles(connection)
    events = shelf_words().events
    shares = list_buying(today=begin).shares
    clock = _Clock(begin, week)
    sewing = [
        entry
        for job in jobs
        for entry in sewing_jobs(
            job,
            events=tuple(e for e in events if e.job == job.id),
            shares=tuple(s for s in shares if s.need.job == job.id),
            clock=clock,
            cards=cards,
        )
    ]
    return ShopDay(begin, week, plan_day(sewing, list_heads(cards, loaded)))


def load_for_job(planned: ShopDay, job: int) -> MachineNeedles:
    """Keep that the cones a day's plan wants for a job are on, and return its machine's needles.

    Raises
    ------
    JobError
        When the job is not in the plan.
    """
    for head in planned.plan.heads:
        for slot in head.slots:
            if slot.job.job == job:
                changes = dict(enumerate(slot.needles, start=1))
                with open_book().write() as connection:
                    put_needles(connection, head.head.name, changes, at=now())
                return list_needles(head.head.name)[0]
    raise JobError(
        _("job {number} is not in this plan").format(number=job),
        remedy=_("choose one that is sewn that day"),
    )


def list_heads(
    cards: CardDrawer, loaded: Mapping[str, Mapping[int, Cone]] | None = None
) -> tuple[Head, ...]:
    """Return the shop's machines, one for each machine card; paces are told against the first.

    ``loaded`` is what is on their needles, by machine and needle.
    """
    machines = [cards.machine(name) for name in cards.names("machines")]
    first = machines[0].top_speed.value
    return tuple(
        Head(
            m.name,
            m.label,
            m.needles,
            m.heads,
            loaded=loaded_cones(cards, m.name, loaded or {}),
            speed=m.top_speed.value / first,
        )
        for m in machines
    )


@dataclass(frozen=True, slots=True)
class _Clock:
    """Days as working minutes from the morning the plan begins."""

    start: date
    week: WorkWeek

    def until(self, day: date | None) -> float:
        return math.inf if day is None else self.week.minutes_until(self.start, day)

    def from_morning(self, day: date) -> float:
        return self.until(day - timedelta(days=1))


def sewing_jobs(
    job: Job,
    *,
    events: tuple[PieceEvent, ...],
    shares: tuple[Share, ...],
    clock: _Clock,
    cards: CardDrawer,
) -> tuple[SewingJob, ...]:
    """Return what is left to sew of a job, one entry for each of its colourings."""
    revision = design_of(job)
    if revision is None:
        return ()
    found = []
    for colorway in dict.fromkeys(line.colorway for line in job.lines):
        lines = [line for line in job.lines if line.colorway == colorway]
        left = sum(line.count - len(count_pieces_of(events, line.number).sewn) for line in lines)
        numbers = {line.number for line in lines}
        mine = tuple(s for s in shares if s.need.line in numbers)
        if left > 0:
            found.append(_entry(job, revision, (colorway, left), (mine, clock), cards))
    return tuple(found)


def _entry(
    job: Job,
    revision: Revision,
    part: tuple[str, int],
    lacking: tuple[tuple[Share, ...], _Clock],
    cards: CardDrawer,
) -> SewingJob:
    colorway, pieces = part
    shares, clock = lacking
    setup = cards.setup(revision.garment, thread=revision.thread)
    advice = advise_design(job, revision, setup)
    names = dict.fromkeys(threads_of(job, colorway))
    cones = tuple(
        Cone(revision.thread, name, advice.needle.metric_size, advice.needle.point)
        for name in names
    )
    missing, ready = _missing(job, shares, clock)
    blocked = advice.notes[0] if advice.hoop is None else ""
    if revision.blocks_sewing and not blocked:
        blocked = _("a finding says that it must not be sewn as it is")
    return SewingJob(
        job=job.id,
        title=job.title,
        pieces=pieces,
        minutes_each=revision.minutes,
        due_min=clock.until(job.due),
        due=job.due,
        cones=cones,
        colorway=colorway,
        hoop=advice.hoop.label if advice.hoop else "",
        backing=advice.backing,
        topping=advice.topping,
        set_up_min=SET_UP_MIN,
        hooping_min=float(cards.prices().hooping_minutes),
        ready_min=ready,
        missing=missing,
        blocked=blocked,
    )


def _missing(job: Job, shares: Sequence[Share], clock: _Clock) -> tuple[tuple[str, ...], float]:
    """Return what a job lacks in words, and when the last of it comes (inf: nobody bought it)."""
    missing: Counter[SupplyKey] = Counter()
    coming: Counter[tuple[SupplyKey, date]] = Counter()
    for share in shares:
        # A job moved on by hand has its blanks, even when nothing was taken off the list for it.
        by_hand = job.state in AT_HAND and share.need.key.kind == SupplyKind.BLANK
        if by_hand and not share.need.taken:
            continue
        if share.missing:
            missing[share.need.key] += share.missing
        elif share.arrives is not None:
            coming[share.need.key, share.arrives] += share.incoming
    told = [_("{what}, not bought yet").format(what=_amount(k, n)) for k, n in missing.items()]
    told += [
        _("{what}, comes {day}").format(what=_amount(key, n), day=day)
        for (key, day), n in coming.items()
    ]
    if missing:
        return tuple(told), math.inf
    return tuple(told), max((clock.from_morning(day) for _key, day in coming), default=0.0)


def _amount(key: SupplyKey, n: int) -> str:
    return f"{n} m {key.words}" if key.kind.is_metred else f"{n} {key.words}"


def draw_shop_day(day: ShopDay) -> tuple[Page, ...]:
    """Return the picture of the day as sheets of paper."""
    return draw_day(DayPaper(day.plan, day.start, day.week, read_font_metrics()))


def make_day_files(day: ShopDay) -> dict[str, bytes]:
    """Return the picture of the day as ``day.pdf`` and, its first sheet, ``day.png``."""
    pdf = write_pdf(draw_shop_day(day))
    first = rasterise_pdf(pdf, dpi=PICTURE_DPI)[0]
    return {"day.pdf": pdf, "day.png": write_png(first, dpi=PICTURE_DPI)}


def write_day(day: ShopDay, folder: Path) -> tuple[Path, ...]:
    """Write the picture of the day as PDF and PNG.

    Raises
    ------
    OutputError
        When the folder cannot be written to.
    """
    return write_together(folder, make_day_files(day))
