"""Areas that fade from one thread into another: sewn twice, each thread thinning out its own way.

Input: areas and what a person asked for. Output: the areas to sew again with their second thread,
and what is asked of that second layer.
"""

from __future__ import annotations

import math
from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.model.stitch import StitchSpec, Underlay

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from firstpiece.model.material import Setup, ThreadColor
    from firstpiece.model.region import Region


def fading_areas(
    regions: Sequence[Region], specs: Mapping[int, StitchSpec], setup: Setup
) -> list[tuple[int, ThreadColor]]:
    """Return the positions of areas that fade, each with the thread it fades into.

    Raises
    ------
    InputError
        When the set-up has no thread of that name.
    """
    found = []
    for k, region in enumerate(regions):
        name = specs.get(region.id, StitchSpec()).fade_to
        if name is None:
            continue
        thread = next((t for t in setup.thread.colors if t.name == name), None)
        if thread is None:
            msg = _("area {number} is to fade into “{name}”, which is not on the rack").format(
                number=region.id, name=name
            )
            raise InputError(msg, remedy=_("name a thread of this set-up"))
        found.append((k, thread))
    return found


def second_layers(regions: Sequence[Region]) -> dict[int, int]:
    """Return the position of each second layer with that of its first: areas that come again."""
    first: dict[int, int] = {}
    again = {}
    for k, region in enumerate(regions):
        if region.id in first:
            again[k] = first[region.id]
        else:
            first[region.id] = k
    return again


def second_layer_spec(spec: StitchSpec) -> StitchSpec:
    """Return what is asked of the second thread: no underlay, thinning out the other way."""
    angle = (spec.fade_angle_rad or 0.0) + math.pi
    return replace(spec, underlay=(Underlay.NONE,), fade_angle_rad=angle)
