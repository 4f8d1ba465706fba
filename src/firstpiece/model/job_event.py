"""One entry of a job's log. The log is only ever added to; a job is what its log adds up to.

Figures stay for ever; words are what a person wrote and go when the customer is erased.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime


class EventKind(StrEnum):
    """What happened; the words are also the ones shown in a job's log."""

    OPENED = "opened"
    IMPORTED = "imported"
    REORDERED = "reordered"
    CHANGED = "changed"
    PICTURE = "picture received"
    REVISION = "design revised"
    COLORWAY = "colourway set"
    LINE = "line set"
    LINE_REMOVED = "line removed"
    QUESTION = "question sent"
    ANSWER = "answer received"
    OFFER = "price offered"
    AGREEMENT = "agreed"
    STEP = "moved on"
    SEWN_OUT = "sewn out"
    NOTE = "note"
    DROPPED = "dropped"
    TAKEN_UP = "taken up again"
    ERASED = "customer erased"


@dataclass(frozen=True, slots=True)
class EventDraft:
    """An entry about to be written; store and clock add the rest."""

    kind: EventKind
    figures: Mapping[str, Any] = field(default_factory=dict)
    words: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class JobEvent:
    """An entry of a job's log.

    Parameters
    ----------
    job : int
        The job's number.
    number : int
        Place in the log, from 1 without gaps.
    at : datetime
        UTC.
    kind : EventKind
    figures : mapping
        Plain values that stay.
    words : mapping
        Plain values that a person wrote; empty once erased.
    """

    job: int
    number: int
    at: datetime
    kind: EventKind
    figures: Mapping[str, Any]
    words: Mapping[str, Any]
