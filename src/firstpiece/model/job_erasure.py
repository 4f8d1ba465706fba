"""What is left of a job's entries once its customer is erased: figures, and no free words.

Colours, sizes and places are typed by hand and may hold anything, so only words the shop knows
anyway are left; colourways are counted instead of named. A job's numbers stay as they are.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.model.job_event import EventKind

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from firstpiece.model.job_event import JobEvent

Figures = dict[str, Any]

_SIZE = re.compile(r"(?:\d{1,2}|X{0,4})X?[SML]|\d{1,3}(?:[-/]\d{1,3})?", re.IGNORECASE)
"""Sizes by letter or number; any other is kept only when the shop has it in stock."""

_HASH = re.compile(r"[0-9a-f]{6,64}")
FREE_FIELDS = ("color", "size", "placement")
PIECE_FIGURES = ("n", "line", "cause", "wrong", "stopped", "by_photo")


@dataclass(frozen=True, slots=True)
class KnownWords:
    """Colours, sizes and places that the shop has in its cards, tables and stock."""

    words: frozenset[str] = field(default_factory=frozenset)

    @classmethod
    def of(cls, words: Iterable[str]) -> KnownWords:
        """Return the known words, however they are spelled in capitals."""
        return cls(frozenset(word.strip().casefold() for word in words if word.strip()))

    def keep(self, text: str) -> str:
        """Return a text that is known, or nothing."""
        known = text.strip().casefold() in self.words or _SIZE.fullmatch(text.strip())
        return text if known else ""


def erased_figures(
    events: Iterable[JobEvent], known: KnownWords
) -> tuple[tuple[int, Figures], ...]:
    """Return number and new figures of the entries of one job that change.

    Parameters
    ----------
    events : iterable of JobEvent
        The whole log of one job, oldest first.
    known : KnownWords
    """
    names: dict[str, str] = {"": ""}
    changed = []
    for event in events:
        figures = _without_words(event, names, known)
        if figures != dict(event.figures):
            changed.append((event.number, figures))
    return tuple(changed)


def erased_piece_figures(figures: Mapping[str, Any]) -> Figures:
    """Return what a ticket's entry keeps: what was scanned and remarked goes."""
    kept = {name: value for name, value in figures.items() if name in PIECE_FIGURES}
    design = str(figures.get("design", ""))
    return {**kept, "design": design} if _HASH.fullmatch(design) else kept


def _without_words(event: JobEvent, names: dict[str, str], known: KnownWords) -> Figures:
    figures = dict(event.figures)
    if event.kind == EventKind.LINE:
        return _line(figures, names, known)
    if event.kind == EventKind.COLORWAY:
        return {**figures, "name": _colorway(figures["name"], names)}
    if event.kind == EventKind.AGREEMENT:
        ways = [{**way, "name": _colorway(way["name"], names)} for way in figures["colorways"]]
        lines = [_line(line, names, known) for line in figures["lines"]]
        return {**figures, "colorways": ways, "lines": lines}
    return figures


def _line(figures: Figures, names: dict[str, str], known: KnownWords) -> Figures:
    kept = {name: known.keep(figures[name]) for name in FREE_FIELDS}
    return {**figures, **kept, "colorway": _colorway(figures["colorway"], names)}


def _colorway(name: str, names: dict[str, str]) -> str:
    return names.setdefault(name, _("colourway {n}").format(n=len(names)))
