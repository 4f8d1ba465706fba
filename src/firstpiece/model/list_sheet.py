"""Lists the shop prints: what to buy, what goes into the parcel, what is to be paid."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ListColumn:
    """A column: its heading, its share of the width, left or right."""

    label: str
    share: float = 1.0
    align: str = "left"


@dataclass(frozen=True, slots=True)
class ListSection:
    """Rows under one heading; ``remark`` stands quietly below it, ``total`` boldly at its foot.

    Each row has a text for each column.
    """

    title: str
    columns: tuple[ListColumn, ...]
    rows: tuple[tuple[str, ...], ...]
    remark: str = ""
    total: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        rows = (*self.rows, self.total) if self.total else self.rows
        if any(len(row) != len(self.columns) for row in rows):
            msg = f"each row of {self.title!r} needs a text for each column"
            raise ValueError(msg)


@dataclass(frozen=True, slots=True)
class ListSheet:
    """A printed list.

    Parameters
    ----------
    title : str
        What it is about: a job, a customer, a day.
    kind : str
        What list it is ("Pack list").
    mark : str
        Version, date or number, small at the top right.
    facts : tuple of (label, value)
        Stand between hairlines under the head.
    sections : tuple of ListSection
    closing : tuple of str
        Paragraphs at the end.
    has_ticks : bool
        True puts a box to tick before every row.
    paper : str
    """

    title: str
    kind: str
    mark: str
    facts: tuple[tuple[str, str], ...]
    sections: tuple[ListSection, ...]
    closing: tuple[str, ...] = ()
    has_ticks: bool = False
    paper: str = "A4"
