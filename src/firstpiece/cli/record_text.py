"""Jobs, customers and logs set for reading on a terminal."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.cli.answers import open_console, print_json
from firstpiece.cli.sentences import count_text, money_text

TOLD_WORDS = ("title", "text", "reason", "said_by", "name", "message", "seen", "change")
TOLD_FIGURES = ("state", "name", "plan_id", "due", "number")
"""What a log shows of an entry; the first that is there is enough of the figures."""

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from rich.table import Table

    from firstpiece.model.customer import Customer
    from firstpiece.model.job import Job
    from firstpiece.model.job_event import JobEvent
    from firstpiece.shop.job_book import JobPage
    from firstpiece.store.jobs import JobSummary


def answer_job(job: Job, *, as_json: bool) -> None:
    """Answer an action with the job after it."""
    if as_json:
        from firstpiece.shop.record_objects import record_object

        print_json("job record", record_object(job))
        return
    line = _("job {number} · {title} · {state}, waits for {waiting}").format(
        number=job.id, title=job.title or _("erased"), state=job.state, waiting=job.waiting.sentence
    )
    open_console().print(line, markup=False)


def answer_customer(customer: Customer, *, as_json: bool) -> None:
    """Answer an action with the customer after it."""
    if as_json:
        from firstpiece.shop.record_objects import customer_object

        print_json("customer", customer_object(customer))
    else:
        _print_pairs(_customer_pairs(customer))


def print_page(page: JobPage) -> None:
    """Print everything kept about a job."""
    job = page.job
    console = open_console()
    title = _("Job {number} · {title}").format(number=job.id, title=job.title or _("erased"))
    console.print()
    console.print(title, style="bold", markup=False)
    _print_pairs(_head_pairs(page))
    if job.lines:
        _print_part(_("Order"), _lines_table(job))
    if job.revisions:
        _print_part(_("Design"), _revisions_table(job))
    if job.agreed:
        _print_part(_("Agreed"))
        _print_pairs(_agreed_pairs(job))
    _print_part(_("Log"), log_table(page.log))


def print_jobs(jobs: Sequence[JobSummary]) -> None:
    """Print one line a job."""
    table = _table(_("job"), _("due"), _("pieces"), _("state"), _("waits for"), _("customer"),
                   _("title"), right=(0, 2))  # fmt: skip
    for job in jobs:
        table.add_row(
            str(job.id),
            day_text(job.due),
            count_text(job.n_pieces),
            str(job.state),
            job.waiting.sentence,
            job.customer_name,
            job.title,
        )
    open_console().print(table)


def print_customers(customers: Sequence[Customer]) -> None:
    """Print one line a customer."""
    table = _table(_("customer"), _("name"), _("writes by"), _("consent"), right=(0,))
    for c in customers:
        table.add_row(str(c.id), c.name, c.writes_by, ", ".join(map(str, c.consent)))
    open_console().print(table)


def log_table(log: Sequence[JobEvent]) -> Table:
    """Return a log with what each entry tells."""
    table = _table(_("no."), _("when"), _("what"), "", right=(0,))
    for event in log:
        table.add_row(str(event.number), moment_text(event.at), str(event.kind), _told(event))
    return table


def day_text(day: date | None) -> str:
    """Return a day, or nothing."""
    return day.isoformat() if day else ""


def moment_text(at: datetime) -> str:
    """Return a moment in the reader's own time, to the minute."""
    return f"{at.astimezone():%Y-%m-%d %H:%M}"


def _head_pairs(page: JobPage) -> list[tuple[str, str]]:
    job = page.job
    name = (page.customer.name or _("erased")) if page.customer else _("none yet")
    rows = [
        (_("State"), str(job.state)),
        (_("Waits for"), job.waiting.sentence),
        (_("Customer"), f"{name} ({job.customer})" if job.customer else name),
        (_("Due"), day_text(job.due) or _("not said")),
        (_("Version"), str(job.version)),
    ]
    optional = [
        (_("Repeats"), _("job {number}").format(number=job.reorder_of) if job.reorder_of else ""),
        (_("Message"), job.message),
        (_("Asked"), _asked_text(job)),
        (_("Pictures"), ", ".join(p.name or p.hash[:12] for p in job.pictures)),
        (_("Offered"), _offer_text(job)),
    ]
    return rows + [row for row in optional if row[1]]


def _asked_text(job: Job) -> str:
    """Return what was asked; of a lettered message the letters still open."""
    if not job.asked:
        return job.question
    return _("points {letters}").format(letters=", ".join(point.letter for point in job.asked))


def _offer_text(job: Job) -> str:
    if job.offer is None:
        return ""
    text = _("{total} for {n} pieces").format(
        total=money_text(job.offer.total), n=count_text(job.offer.quantity)
    )
    if job.offer.valid_until is None:
        return text
    return _("{text}, until {day}").format(text=text, day=job.offer.valid_until)


def _agreed_pairs(job: Job) -> list[tuple[str, str]]:
    agreed = job.agreed
    assert agreed is not None
    return [
        (_("By"), _("{who}, {when}").format(who=agreed.said_by or _("erased"),
                                            when=moment_text(agreed.at))),
        (_("Design"), _("revision {n}, {height:g} mm high, plan {plan}").format(
            n=agreed.revision, height=agreed.height_mm, plan=agreed.plan_id)),
        (_("Threads"), ", ".join(agreed.threads)),
        (_("Pieces"), count_text(agreed.n_pieces)),
        (_("Price"), money_text(agreed.price)),
    ]  # fmt: skip


def _customer_pairs(customer: Customer) -> list[tuple[str, str]]:
    rows = [
        (_("Customer"), f"{customer.name or _('erased')} ({customer.id})"),
        (_("Writes by"), customer.writes_by),
        (_("Notes"), customer.notes),
        (_("Consent"), ", ".join(map(str, customer.consent))),
        (_("Version"), str(customer.version)),
    ]
    return [row for row in rows if row[1]]


def _lines_table(job: Job) -> Table:
    table = _table(_("line"), _("pieces"), _("garment"), _("colour"), _("size"), _("placement"),
                   _("threads"), _("names"), right=(0, 1))  # fmt: skip
    for line in job.lines:
        table.add_row(
            str(line.number),
            count_text(line.count),
            line.garment,
            line.color,
            line.size,
            line.placement,
            line.colorway,
            ", ".join(line.names),
        )
    return table


def _revisions_table(job: Job) -> Table:
    table = _table(_("rev."), _("plan"), _("size"), _("on"), _("stitches"), _("each"),
                   _("reason"), right=(0, 4, 5))  # fmt: skip
    for r in job.revisions:
        size = _("{width:.0f} × {height:.0f} mm").format(width=r.width_mm, height=r.height_mm)
        blocked = _(" (do not sew as it is)") if r.blocks_sewing else ""
        table.add_row(
            str(r.number),
            r.plan_id,
            size,
            r.garment,
            count_text(r.n_stitches),
            _("{money} for {n}").format(money=money_text(r.each), n=r.quantity),
            r.reason + blocked,
        )
    return table


def _told(event: JobEvent) -> str:
    """Return the words of an entry, else the figure that matters most."""
    words = [event.words[name] for name in TOLD_WORDS if event.words.get(name)]
    if words:
        return " · ".join(word.replace("\n", " ") for word in words)[:70]
    if "total" in event.figures:
        from firstpiece.model.design import money_from

        return money_text(money_from(event.figures["total"]))
    figures: dict[str, Any] = dict(event.figures)
    if "count" in figures:
        parts = (figures["garment"], figures["color"], figures["size"])
        return _("{n} × {what}").format(n=figures["count"], what=" ".join(p for p in parts if p))
    named = [name for name in TOLD_FIGURES if name in figures]
    return f"{figures[named[0]]}" if named else ""


def _table(*headings: str, right: tuple[int, ...] = ()) -> Table:
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1), header_style="", show_edge=False)
    for place, heading in enumerate(headings):
        table.add_column(heading, justify="right" if place in right else "left")
    return _Plain(table)  # type: ignore[return-value]


class _Plain:
    """A table whose cells are taken literally: what a customer wrote is no markup."""

    def __init__(self, table: Table) -> None:
        self._table = table

    def add_row(self, *cells: str) -> None:
        from rich.text import Text

        self._table.add_row(*(Text(cell) for cell in cells))

    def __rich__(self) -> Table:
        return self._table


def _print_part(title: str, table: Table | None = None) -> None:
    console = open_console()
    console.print()
    console.print(title, style="bold", markup=False)
    if table is not None:
        console.print(table)


def _print_pairs(rows: Sequence[tuple[str, str]]) -> None:
    from rich.table import Table
    from rich.text import Text

    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(min_width=10, no_wrap=True, style="dim")
    table.add_column()
    for name, text in rows:
        table.add_row(f"  {name}", Text(text))
    open_console().print(table)
