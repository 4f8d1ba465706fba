"""What tracing changed, told as findings: specks dropped, colours merged, threads that differ."""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from gettext import ngettext
from typing import TYPE_CHECKING

from firstpiece.model.finding import Finding, Severity
from firstpiece.model.material import rgb_to_hex

if TYPE_CHECKING:
    from firstpiece.model.region import RegionMap

MOVED_MM = 0.05
"""Edges moved by less are not worth a word: thread is several times wider."""

FAR_THREAD = 8.0
"""A thread that differs from the art by more (CIEDE2000) is worth a look."""


@dataclass(frozen=True, slots=True)
class Changes:
    """What tracing did to the art on the way.

    Parameters
    ----------
    n_specks : int
        Areas given to their neighbours.
    n_merged : int
        Colours that another one stands for.
    n_white_kept : int
        Enclosed areas of the paper's colour taken for white paint.
    is_shaded : bool
        Blends of colour became flat.
    unevenness : float
        Share by which the light on the paper varied before it was evened out.
    moved_mm : float [mm]
        How far edges were moved from where the picture puts them (95 % point).
    """

    n_specks: int = 0
    n_merged: int = 0
    n_white_kept: int = 0
    is_shaded: bool = False
    unevenness: float = 0.0
    moved_mm: float = 0.0


def trace_notes(region_map: RegionMap, changes: Changes) -> tuple[Finding, ...]:
    """Return the notes for a map that was just traced.

    Parameters
    ----------
    region_map : RegionMap
    changes : Changes
    """
    counted = (
        (
            "specks-dropped",
            changes.n_specks,
            ngettext(
                "{n} speck too small to sew was given to its surroundings.",
                "{n} specks too small to sew were given to their surroundings.",
                changes.n_specks,
            ),
        ),
        (
            "colors-merged",
            changes.n_merged,
            ngettext(
                "{n} colour was merged with one that looks like it.",
                "{n} colours were merged with ones that look like them.",
                changes.n_merged,
            ),
        ),
        (
            "white-kept",
            changes.n_white_kept,
            ngettext(
                "{n} white area inside the art will be sewn; it may be bare cloth instead.",
                "{n} white areas inside the art will be sewn; they may be bare cloth instead.",
                changes.n_white_kept,
            ),
        ),
        ("shading-flattened", int(changes.is_shaded), _("Soft shading became flat colours.")),
    )
    notes = [
        Finding(code, Severity.NOTE, reason.format(n=n), measured=float(n))
        for code, n, reason in counted
        if n
    ]
    return (*notes, *_change_notes(changes), *_thread_notes(region_map))


def _change_notes(changes: Changes) -> list[Finding]:
    """Return the notes on what was done to the whole picture and to edges."""
    notes = []
    if changes.unevenness > 0:
        reason = _("The light on the paper varied by {percent:.0f} %; it was evened out.")
        percent = changes.unevenness * 100.0
        notes.append(
            Finding(
                "light-evened",
                Severity.NOTE,
                reason.format(percent=percent),
                measured=float(percent),
                unit="%",
            )
        )
    if changes.moved_mm > MOVED_MM:
        reason = _(
            "Wobble was smoothed out of the edges: 95 % of them moved by less than {mm:.2f} mm."
        )
        notes.append(
            Finding(
                "edges-smoothed",
                Severity.NOTE,
                reason.format(mm=changes.moved_mm),
                measured=float(changes.moved_mm),
                unit="mm",
            )
        )
    return notes


def _thread_notes(region_map: RegionMap) -> list[Finding]:
    notes = []
    first_art: dict[str, str] = {}
    for match in region_map.matches:
        art = rgb_to_hex(match.art_rgb)
        if match.delta_e > FAR_THREAD:
            reason = _("The nearest thread to {art}, {thread}, differs visibly from it.")
            reason = reason.format(art=art, thread=match.thread.name)
            notes.append(
                Finding(
                    "thread-far",
                    Severity.NOTE,
                    reason,
                    measured=match.delta_e,
                    limit=FAR_THREAD,
                    unit="CIEDE2000",
                )
            )
        if match.thread.name in first_art:
            reason = _("{first} and {art} are both sewn in {thread} and will not be told apart.")
            reason = reason.format(
                first=first_art[match.thread.name], art=art, thread=match.thread.name
            )
            notes.append(Finding("thread-shared", Severity.NOTE, reason))
        first_art.setdefault(match.thread.name, art)
    return notes
