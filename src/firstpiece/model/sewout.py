"""One sew-out as the person at the machine saw it: what was sewn, how it went, what changes next.

It names exactly what was sewn (revision, plan, cards), so that later ones can be held against it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.errors import InputError
from firstpiece.model.plain_text import clean_text

if TYPE_CHECKING:
    from collections.abc import Mapping

WORST, BEST = 1, 5
MOST_MINUTES = 10_000.0


@dataclass(frozen=True, slots=True)
class SewOutPhoto:
    """A photo of the sewn piece, kept without its location data; ``hash`` is that of its bytes."""

    hash: str
    n_bytes: int


@dataclass(frozen=True, slots=True)
class SewOut:
    """What came of sewing a design once.

    Parameters
    ----------
    revision : int
        The design's revision.
    plan_id : str
        Short hash of the stitch plan, as on proof, run sheet and ticket.
    garment, thread : str
        Names of the cards.
    cards : str
        Hash of what the cards of garment, cloth, backing, topping, needle, thread, hoops and
        machine said at the time.
    minutes : float [min]
        Taken at the machine for the piece.
    rating : int
        1 (not to be sold) to 5 (as it should be).
    photos : tuple of SewOutPhoto
    seen, change : str
        What was seen, and what changes next time.
    at : datetime
    """

    revision: int
    plan_id: str
    garment: str
    thread: str
    cards: str
    minutes: float
    rating: int
    photos: tuple[SewOutPhoto, ...] = ()
    seen: str = ""
    change: str = ""
    at: datetime = datetime(1, 1, 1, tzinfo=UTC)

    def __post_init__(self) -> None:
        object.__setattr__(self, "seen", clean_text(self.seen, where=_("what was seen")))
        object.__setattr__(self, "change", clean_text(self.change, where=_("what changes")))
        if not WORST <= self.rating <= BEST:
            raise InputError(
                _("{n} is not a rating").format(n=self.rating),
                remedy=_("give 1 (not to be sold) to 5 (as it should be)"),
            )
        if not (math.isfinite(self.minutes) and 0 < self.minutes <= MOST_MINUTES):
            raise InputError(
                _("{n} is not a time at the machine").format(n=self.minutes),
                remedy=_("give the minutes that one piece took"),
            )

    def figures(self) -> dict[str, Any]:
        """Return what stays when the customer is erased, as plain values."""
        return {
            "revision": self.revision,
            "plan_id": self.plan_id,
            "garment": self.garment,
            "thread": self.thread,
            "cards": self.cards,
            "minutes": self.minutes,
            "rating": self.rating,
            "photos": [{"hash": p.hash, "n_bytes": p.n_bytes} for p in self.photos],
        }

    def words(self) -> dict[str, Any]:
        """Return what a person wrote, as plain values."""
        return {name: said for name in ("seen", "change") if (said := getattr(self, name))}


def sewout_from(figures: Mapping[str, Any], words: Mapping[str, Any], *, at: datetime) -> SewOut:
    """Return the sew-out of ``figures`` and ``words``; erased words leave none."""
    photos = tuple(SewOutPhoto(**photo) for photo in figures["photos"])
    said = {name: words.get(name, "") for name in ("seen", "change")}
    return SewOut(**{**figures, "photos": photos}, **said, at=at)
