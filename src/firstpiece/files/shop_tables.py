"""Customers and jobs as CSV tables and back, the same values exactly.

RFC 4180 with a byte order mark in front, so that spreadsheets read the letters right. A cell that a
spreadsheet would take for a formula gets an apostrophe in front, which reading takes off again.
"""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from datetime import date
from gettext import gettext as _
from io import StringIO
from typing import TYPE_CHECKING

from firstpiece.errors import FirstpieceError, InputError
from firstpiece.model.customer import Customer, read_consent
from firstpiece.model.job import JobState
from firstpiece.model.job_entry import JobEntry
from firstpiece.model.order import OrderLine

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from typing import TypeVar

    T = TypeVar("T")

CUSTOMER_COLUMNS = ("number", "name", "writes_by", "notes", "consent")
JOB_COLUMNS = ("number", "customer", "title", "state", "due", "message")
LINE_COLUMNS = ("job", "line", "garment", "color", "size", "count", "placement", "colorway",
                "names")  # fmt: skip

CUSTOMERS_FILE, JOBS_FILE, LINES_FILE = "customers.csv", "jobs.csv", "lines.csv"
MARK = "\ufeff"

# The signs a spreadsheet may begin a formula with, plain and full-width (OWASP, "CSV Injection").
_FORMULA = re.compile(r"'*[=+\-@\t\r\n＝＋－＠]")
_GUARDED = re.compile(r"'+[=+\-@\t\r\n＝＋－＠]")


def guard_cell(text: str) -> str:
    """Return text that no spreadsheet takes for a formula."""
    return f"'{text}" if _FORMULA.match(text) else text


def unguard_cell(text: str) -> str:
    """Return what ``guard_cell`` was given."""
    return text[1:] if _GUARDED.match(text) else text


def write_customers_csv(customers: Iterable[Customer]) -> str:
    """Return a table with one row a customer."""
    rows = (
        (c.id, c.name, c.writes_by, c.notes, ", ".join(str(kind) for kind in c.consent))
        for c in customers
    )
    return _write(CUSTOMER_COLUMNS, rows)


def write_jobs_csv(entries: Iterable[JobEntry]) -> str:
    """Return a table with one row a job."""
    rows = (
        (e.number, e.customer or "", e.title, str(e.state), e.due or "", e.message) for e in entries
    )
    return _write(JOB_COLUMNS, rows)


def write_lines_csv(entries: Iterable[JobEntry]) -> str:
    """Return a table with one row a line of an order; names stand below each other in a cell."""
    rows = (
        (e.number, line.number, line.garment, line.color, line.size, line.count, line.placement,
         line.colorway, "\n".join(line.names))
        for e in entries
        for line in e.lines
    )  # fmt: skip
    return _write(LINE_COLUMNS, rows)


def read_customers_csv(text: str, *, where: str = CUSTOMERS_FILE) -> tuple[Customer, ...]:
    """Return the customers of a table.

    Raises
    ------
    InputError
        With file and row, when a column is missing or a value is wrong.
    """
    return tuple(_read(text, CUSTOMER_COLUMNS, where, _customer))


def read_jobs_csv(
    jobs: str, lines: str, *, where: str = JOBS_FILE, lines_where: str = LINES_FILE
) -> tuple[JobEntry, ...]:
    """Return the jobs of a table with the lines of another; see ``read_customers_csv``."""
    by_job: dict[int, list[OrderLine]] = {}
    for number, line in _read(lines, LINE_COLUMNS, lines_where, _line):
        by_job.setdefault(number, []).append(line)
    entries = tuple(_read(jobs, JOB_COLUMNS, where, _job))
    known = {entry.number for entry in entries} - {0}
    for number in by_job:
        if number not in known:
            raise InputError(
                _("a line belongs to job {number}, which is not in {jobs}").format(
                    number=number, jobs=where
                ),
                where=lines_where,
                remedy=_("add the job, or take the line out"),
            )
    try:
        return tuple(replace(e, lines=tuple(by_job.get(e.number, ()))) for e in entries)
    except FirstpieceError as fault:
        fault.where = lines_where
        raise


def _customer(cells: dict[str, str]) -> Customer:
    return Customer(
        id=_number(cells["number"], empty=0),
        name=cells["name"],
        writes_by=cells["writes_by"],
        notes=cells["notes"],
        consent=read_consent(cells["consent"]),
    )


def _job(cells: dict[str, str]) -> JobEntry:
    return JobEntry(
        number=_number(cells["number"], empty=0),
        customer=_number(cells["customer"], empty=0),
        title=cells["title"],
        state=_state(cells["state"]),
        due=_day(cells["due"]),
        message=cells["message"],
    )


def _line(cells: dict[str, str]) -> tuple[int, OrderLine]:
    line = OrderLine(
        number=_number(cells["line"]),
        garment=cells["garment"],
        count=_number(cells["count"]),
        color=cells["color"],
        size=cells["size"],
        placement=cells["placement"],
        colorway=cells["colorway"],
        names=tuple(name for name in cells["names"].split("\n") if name),
    )
    return _number(cells["job"]), line


def _number(text: str, *, empty: int | None = None) -> int:
    if not text.strip() and empty is not None:
        return empty
    if not text.strip().isdecimal() or len(text) > 12:
        raise InputError(
            _("“{text}” is not a whole number").format(text=text[:40]), remedy=_("write digits")
        )
    return int(text)


def _state(text: str) -> JobState:
    word = text.strip().lower() or str(JobState.ASKED)
    try:
        return JobState(word)
    except ValueError as fault:
        raise InputError(
            _("“{text}” is not a state of a job").format(text=text[:40]),
            remedy=_("choose from {states}").format(states=", ".join(JobState)),
        ) from fault


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text.strip()) if text.strip() else None
    except ValueError as fault:
        raise InputError(
            _("“{text}” is not a day").format(text=text[:40]), remedy=_("write it like 2031-04-05")
        ) from fault


def _write(columns: tuple[str, ...], rows: Iterable[tuple[object, ...]]) -> str:
    out = StringIO()
    out.write(MARK)
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([guard_cell(str(cell)) for cell in row])
    return out.getvalue()


def _read(
    text: str, columns: tuple[str, ...], where: str, make: Callable[[dict[str, str]], T]
) -> Iterator[T]:
    reader = csv.reader(StringIO(text.removeprefix(MARK), newline=""), strict=True)
    try:
        head = [name.strip().lower() for name in next(reader, [])]
        _check_head(head, columns, where)
        for row in reader:
            if not any(row):
                continue
            cells = dict(zip(head, map(unguard_cell, row), strict=False))
            try:
                yield make({name: cells.get(name, "") for name in columns})
            except FirstpieceError as fault:
                fault.where = _("{file}, row {row}").format(file=where, row=reader.line_num)
                raise
    except csv.Error as fault:
        raise InputError(
            _("this is not a CSV table ({reason})").format(reason=fault),
            where=_("{file}, row {row}").format(file=where, row=reader.line_num),
            remedy=_("save it as CSV with commas, in UTF-8"),
        ) from fault


def _check_head(head: list[str], columns: tuple[str, ...], where: str) -> None:
    missing = [name for name in columns if name not in head]
    if missing:
        raise InputError(
            _("the table has no column {names}").format(names=", ".join(missing)),
            where=where,
            remedy=_("its first row must name: {columns}").format(columns=", ".join(columns)),
        )
