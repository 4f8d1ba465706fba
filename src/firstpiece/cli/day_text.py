"""A day plan set for reading on a terminal."""

from __future__ import annotations

from gettext import gettext as _
from gettext import ngettext
from typing import TYPE_CHECKING

from firstpiece.cli.answers import open_console
from firstpiece.paperwork.day_picture import say_changes, say_minutes

if TYPE_CHECKING:
    from rich.table import Table

    from firstpiece.model.day import HeadPlan, Slot
    from firstpiece.shop.day import ShopDay


def print_day(day: ShopDay) -> None:
    """Print each machine's jobs in order, then what is late and what waits."""
    console, plan = open_console(), day.plan
    console.print(_headline(day), style="bold", markup=False)
    for head in plan.heads:
        if not head.slots:
            continue
        console.print()
        console.print(head.head.label, style="bold", markup=False)
        if head.first_loading:
            text = _("to begin with: {cones}").format(cones=say_changes(head.first_loading))
            console.print(text, markup=False)
        console.print(_head_table(day, head))
    for slot in plan.late:
        text = _("LATE: job {n}, {title}, {late} after {due}")
        console.print(
            text.format(n=slot.job.job, title=slot.job.title, late=say_minutes(slot.late_min),
                        due=slot.job.due),
            style="bold", markup=False,
        )  # fmt: skip
    for waiting in plan.waiting:
        text = _("waits: job {n}, {title}: {reason}")
        console.print(
            text.format(n=waiting.job.job, title=waiting.job.title, reason=waiting.reason),
            markup=False,
        )


def _headline(day: ShopDay) -> str:
    plan = day.plan
    n_jobs = sum(len(head.slots) for head in plan.heads)
    if not n_jobs:
        return _("From {day}: nothing to sew.").format(day=day.start)
    jobs = ngettext("{n} job", "{n} jobs", n_jobs).format(n=n_jobs)
    text = _("From {day}: {jobs}, {late} late (no plan has fewer than {bound}), {n} cone changes")
    return text.format(day=day.start, jobs=jobs, late=len(plan.late), bound=plan.late_bound,
                       n=plan.n_changes)  # fmt: skip


def _head_table(day: ShopDay, head: HeadPlan) -> Table:
    from rich import box
    from rich.table import Table
    from rich.text import Text

    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1), header_style="", show_edge=False)
    for heading, right in ((_("job"), True), (_("title"), False), (_("pieces"), True),
                           (_("from"), False), (_("to"), False), (_("due"), False)):  # fmt: skip
        table.add_column(heading, justify="right" if right else "left")
    for slot in head.slots:
        begin = day.week.moment(day.start, slot.begin_min + 1e-6)
        end = day.week.moment(day.start, slot.end_min)
        due = slot.job.due.isoformat() if slot.job.due else ""
        cells = (str(slot.job.job), slot.job.title, str(slot.job.pieces), f"{begin:%a %d %H:%M}",
                 f"{end:%a %d %H:%M}", due + (" *" if slot.is_late else ""))  # fmt: skip
        table.add_row(*(Text(cell) for cell in cells))
        for line in _below(slot):
            table.add_row("", Text(line, style="dim"))
    return table


def _below(slot: Slot) -> list[str]:
    """Return what stands under a job: its hoop, the cones to change, what it waits for."""
    changes = say_changes(slot.changes)
    return [
        *([slot.job.hoop] if slot.job.hoop else []),
        *([_("change {cones}").format(cones=changes)] if changes else []),
        *slot.job.missing,
    ]
