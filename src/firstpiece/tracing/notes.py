"""What tracing changed, told as findings: specks dropped, colours merged, threads that differ."""

from __future__ import annotations

from gettext import gettext as _
from gettext import ngettext
from typing import TYPE_CHECKING

from firstpiece.model.finding import Finding, Severity
from firstpiece.model.material import rgb_to_hex

if TYPE_CHECKING:
    from firstpiece.model.region import RegionMap

FAR_THREAD = 8.0
"""A thread that differs from the art by more (CIEDE2000) is worth a look."""


def trace_notes(region_map: RegionMap, *, n_specks: int, n_merged: int) -> tuple[Finding, ...]:
    """Return the notes for a map that was just traced.

    Parameters
    ----------
    region_map : RegionMap
    n_specks : int
        Areas given to their neighbours.
    n_merged : int
        Colours that another one stands for.
    """
    notes = []
    if n_specks:
        reason = ngettext(
            "{n} speck too small to sew was given to its surroundings.",
            "{n} specks too small to sew were given to their surroundings.",
            n_specks,
        )
        notes.append(_note("specks-dropped", reason.format(n=n_specks), n_specks))
    if n_merged:
        reason = ngettext(
            "{n} colour was merged with one that looks like it.",
            "{n} colours were merged with ones that look like them.",
            n_merged,
        )
        notes.append(_note("colors-merged", reason.format(n=n_merged), n_merged))
    return (*notes, *_thread_notes(region_map))


def _note(code: str, reason: str, count: float) -> Finding:
    return Finding(code, Severity.NOTE, reason, measured=float(count))


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
