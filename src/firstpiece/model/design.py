"""A job's design as it changes: pictures received, revisions with reason, and their difference.

A revision holds all that is needed to make its plan again, and the figures that were true of it.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields
from typing import TYPE_CHECKING, Any

from moneyed import Money

from firstpiece.model.edit import NO_EDITS, EditLog, SwapThread
from firstpiece.model.edit_code import log_from, log_object
from firstpiece.model.region import TraceOptions
from firstpiece.model.stitch import (
    Motif,
    Relief,
    RowCourse,
    RunKind,
    StitchSpec,
    StitchType,
    Underlay,
)

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

_SPEC_KINDS = {
    "stitch_type": StitchType, "run": RunKind, "motif": Motif, "relief": Relief,
    "course": RowCourse,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class ReceivedPicture:
    """A picture as it arrived, without its location data; ``hash`` is the SHA-256 of its bytes."""

    hash: str
    name: str
    n_bytes: int
    at: datetime


@dataclass(frozen=True, slots=True)
class Revision:
    """One version of the design.

    Parameters
    ----------
    number : int
        From 1.
    picture : str
        Hash of the picture it was made from.
    height_mm, width_mm : float [mm]
        Of the painted box.
    garment, thread : str
        Cards it was planned on.
    options : TraceOptions
    specs : tuple of (int, StitchSpec)
        A person's wishes by area.
    plan_id : str
        Short hash of the stitch plan.
    threads : tuple of str
        Names in sewing order.
    n_stitches : int
    minutes : float [min]
        Expected time at the machine for one piece.
    quantity : int
        Pieces the price is for.
    each : moneyed.Money
        Price of one piece.
    blocks_sewing : bool
        True when a finding said that it must not be sewn as it is.
    reason : str
        Why it was made.
    at : datetime or None
    edits : EditLog
        A person's edits of the cleaned design.
    """

    number: int
    picture: str
    height_mm: float
    width_mm: float
    garment: str
    thread: str
    options: TraceOptions
    specs: tuple[tuple[int, StitchSpec], ...]
    plan_id: str
    threads: tuple[str, ...]
    n_stitches: int
    minutes: float
    quantity: int
    each: Money
    blocks_sewing: bool
    reason: str = ""
    at: datetime | None = None
    edits: EditLog = NO_EDITS

    def figures(self) -> dict[str, Any]:
        """Return everything but the reason and the time, as plain values."""
        plain = {f.name: getattr(self, f.name) for f in fields(self)}
        del plain["reason"], plain["at"]
        return {
            **plain,
            "options": asdict(self.options),
            "specs": {str(area): asdict(spec) for area, spec in self.specs},
            "threads": list(self.threads),
            "edits": log_object(self.edits),
            "each": money_object(self.each),
        }


def revision_from(figures: Mapping[str, Any], *, reason: str, at: datetime) -> Revision:
    """Return the revision of ``figures``."""
    specs = sorted((int(area), spec_from(plain)) for area, plain in figures["specs"].items())
    made = {
        **figures,
        "options": options_from(figures["options"]),
        "specs": tuple(specs),
        "threads": tuple(figures["threads"]),
        "edits": _edits(figures),
        "each": money_from(figures["each"]),
    }
    made.pop("merged", None)
    return Revision(**made, reason=reason, at=at)


def _edits(figures: Mapping[str, Any]) -> EditLog:
    """Return the edits kept with a revision; older ones tell only of threads replaced."""
    if "edits" in figures:
        return log_from(figures["edits"])
    swaps = tuple(SwapThread(old, new) for old, new in figures.get("merged", ()))
    return EditLog(float(figures["height_mm"]), swaps)


@dataclass(frozen=True, slots=True)
class RevisionChange:
    """What one revision has more (or, below zero, less) of than another.

    ``each`` is None when the two were priced for different numbers of pieces or in different money.
    """

    before: int
    after: int
    height_mm: float
    n_stitches: int
    minutes: float
    n_threads: int
    each: Money | None


def compare_revisions(before: Revision, after: Revision) -> RevisionChange:
    """Return how the figures change from one revision to another."""
    alike = before.quantity == after.quantity and before.each.currency == after.each.currency
    return RevisionChange(
        before=before.number,
        after=after.number,
        height_mm=after.height_mm - before.height_mm,
        n_stitches=after.n_stitches - before.n_stitches,
        minutes=after.minutes - before.minutes,
        n_threads=len(after.threads) - len(before.threads),
        each=after.each - before.each if alike else None,
    )


def money_object(money: Money) -> dict[str, str]:
    """Return money as plain values, to the last digit."""
    return {"amount": str(money.amount), "currency": str(money.currency)}


def money_from(plain: Mapping[str, str]) -> Money:
    """Return the money of ``money_object``."""
    return Money(plain["amount"], plain["currency"])


def options_from(plain: Mapping[str, Any]) -> TraceOptions:
    """Return how to read the picture, from its plain values."""
    known = _known(TraceOptions, plain)
    known["bare_colors"] = tuple(tuple(rgb) for rgb in plain.get("bare_colors", ()))
    return TraceOptions(**known)


def spec_from(plain: Mapping[str, Any]) -> StitchSpec:
    """Return the wishes for one area from plain values; a wish that is gone is left out."""
    known = _known(StitchSpec, plain)
    for name, kind in _SPEC_KINDS.items():
        if known.get(name) is not None:
            known[name] = kind(known[name])
    if known.get("guides") is not None:
        known["guides"] = tuple((x, y, angle) for x, y, angle in known["guides"])
    if known.get("underlay") is not None:
        known["underlay"] = tuple(Underlay(kind) for kind in known["underlay"])
    return StitchSpec(**known)


def _known(kind: type[Any], plain: Mapping[str, Any]) -> dict[str, Any]:
    """Return the values whose fields still exist; a wish that is gone is left out."""
    names = {f.name for f in fields(kind)}
    return {name: value for name, value in plain.items() if name in names}
