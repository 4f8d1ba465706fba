"""Joining what is sewn in one thread: hidden travel first, a short jump next, a cut last.

Input: the legs of all areas in sewing order. Output: runs, each from one cut to the next, tied at
both ends.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.stitch import Role
from firstpiece.planning.path import Path, join_paths, make_path
from firstpiece.planning.stitch_list import Run
from firstpiece.planning.tie_places import spread_ties
from firstpiece.planning.ties import tie_in, tie_off, tie_slides

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from firstpiece.planning.corridors import Corridors

    Floats = NDArray[np.float64]

NO_TIES: Mapping[int, float] = {}


USUAL_TRIM_OVER_MM = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Leg:
    """Stitches of one area without a lift of the needle.

    ``place`` is the area's position in the sewing order.
    """

    path: Path
    region_id: int
    thread: int
    place: int


@dataclass(slots=True)
class _Chain:
    """Legs joined without a jump."""

    parts: list[Path]
    ids: list[NDArray[np.int32]]

    def add(self, path: Path, region_id: int) -> None:
        self.parts.append(path)
        self.ids.append(np.full(len(path), region_id, dtype=np.int32))


@dataclass(slots=True)
class _Cut:
    """Chains joined by short jumps, from one cut to the next."""

    thread: int
    chains: list[_Chain] = field(default_factory=list)


def link_legs(
    legs: list[Leg],
    corridors: Corridors,
    ties_mm: Mapping[int, float] = NO_TIES,
    *,
    trim_over_mm: float = USUAL_TRIM_OVER_MM,
) -> list[Run]:
    """Return the runs that sew the legs in order.

    Parameters
    ----------
    legs : list of Leg
    corridors : Corridors
        Ways under later areas, by place in the sewing order.
    ties_mm : mapping of int to float [mm]
        How far in ties are wished to lie, by area.
    trim_over_mm : float [mm]
        Longer jumps are cut.
    """
    cuts: list[_Cut] = []
    last: Leg | None = None
    for leg in legs:
        joined = last is not None and last.thread == leg.thread and _join(
            cuts[-1], (last, leg), corridors, trim_over_mm
        )  # fmt: skip
        if not joined:
            cut = _Cut(leg.thread, [_Chain([], [])])
            cut.chains[-1].add(leg.path, leg.region_id)
            cuts.append(cut)
        last = leg
    return _tied(cuts, ties_mm)


def _join(cut: _Cut, between: tuple[Leg, Leg], corridors: Corridors, trim_over_mm: float) -> bool:
    """Join a leg to the open run by travel or a short jump; False when it needs a cut."""
    last, leg = between
    chain = cut.chains[-1]
    gap = float(np.hypot(*(leg.path.start - last.path.end)))
    way = None
    if leg.place == last.place + 1:
        way = corridors.find(last.place, last.path.end, leg.path.start)
    if way is not None:
        chain.add(make_path(way[1:-1], Role.TRAVEL), leg.region_id)
        chain.add(leg.path, leg.region_id)
        return True
    lead = None
    if gap > trim_over_mm:
        lead = _lead_inside(last, leg, corridors, trim_over_mm)
        if lead is None:
            return False
    cut.chains.append(_Chain([], []))
    if lead is not None:
        cut.chains[-1].add(make_path(lead[:-1], Role.TRAVEL), leg.region_id)
    cut.chains[-1].add(leg.path, leg.region_id)
    return True


def _lead_inside(last: Leg, leg: Leg, corridors: Corridors, trim_over_mm: float) -> Floats | None:
    """Return travel under a leg's own cover from where a short jump can reach its area."""
    if leg.place != last.place + 1:
        return None
    place = corridors.nearest_inside(leg.place, last.path.end)
    if float(np.hypot(*(place - last.path.end))) > trim_over_mm:
        return None
    return corridors.find(last.place, place, leg.path.start)


def _tied(cuts: list[_Cut], ties_mm: Mapping[int, float]) -> list[Run]:
    """Return the cuts as runs with a tie at both ends, the ties spread over the whole design."""
    paths = [[join_paths(chain.parts) for chain in cut.chains] for cut in cuts]
    choices = []
    for cut, chains in zip(cuts, paths, strict=True):
        first, last = int(cut.chains[0].ids[0][0]), int(cut.chains[-1].ids[-1][-1])
        choices.append(tie_slides(chains[0], ties_mm.get(first)))
        choices.append(tie_slides(chains[-1].reversed(), ties_mm.get(last)))
    taken = spread_ties([places for _, places in choices])
    slides = [float(choice[0][k]) for choice, k in zip(choices, taken, strict=True)]
    return [
        _tied_run(cut, chains, slides[2 * n], slides[2 * n + 1])
        for n, (cut, chains) in enumerate(zip(cuts, paths, strict=True))
    ]


def _tied_run(cut: _Cut, paths: list[Path], slide_in: float, slide_out: float) -> Run:
    ids = [np.concatenate(chain.ids) for chain in cut.chains]
    first_id, last_id = ids[0][0], ids[-1][-1]
    off = tie_off(paths[-1], slide_out)
    ids[-1] = _pad(ids[-1], len(off) - len(paths[-1]), last_id, at_end=True)
    paths[-1] = off
    plain = len(paths[0])
    paths[0] = tie_in(paths[0], slide_in)
    ids[0] = _pad(ids[0], len(paths[0]) - plain, first_id, at_end=False)
    return Run(tuple(paths), tuple(ids), cut.thread)


def _pad(ids: NDArray[np.int32], more: int, value: int, *, at_end: bool) -> NDArray[np.int32]:
    """Return ids made longer or shorter at one end, to go with a tied path."""
    if more <= 0:
        return ids[: len(ids) + more] if at_end else ids[-more:]
    extra = np.full(more, value, dtype=np.int32)
    return np.concatenate([ids, extra] if at_end else [extra, ids])
