"""What lies beneath an area: cut out, as traced, or kept and sewn first.

Input: a design and a ``LayArea``. Output: ``Edited``. The partition shows what is on top; an area
that is carried on beneath others keeps where in ``Region.beneath``.
"""

from __future__ import annotations

from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING

import shapely

from firstpiece.editing.addressing import area_words, find_sewn
from firstpiece.editing.means import Edited
from firstpiece.errors import EditError
from firstpiece.geometry.contours import areas_of

if TYPE_CHECKING:
    from firstpiece.editing.means import EditMeans
    from firstpiece.model.edit import LayArea
    from firstpiece.model.region import Region, RegionMap


def lay_area(region_map: RegionMap, edit: LayArea, means: EditMeans) -> Edited:
    """Return the design with what lies beneath an area kept, or cut out."""
    del means
    top = find_sewn(region_map, edit.area)
    below = find_sewn(region_map, edit.below) if edit.below else _ground(region_map, top)
    if below.id == top.id:
        raise EditError(
            _("area {number} cannot lie beneath itself").format(number=top.id),
            remedy=_("name the area it lies on"),
        )
    hidden = below.beneath or shapely.Polygon()
    if edit.keeps:
        hidden = areas_of(shapely.union(hidden, top.polygon))
        said = _("{below} is sewn on beneath {top}.")
    else:
        hidden = areas_of(shapely.difference(hidden, top.polygon))
        said = _("{below} is cut out beneath {top}.")
    changed = replace(below, beneath=None if hidden.is_empty else hidden)
    regions = tuple(changed if r.id == below.id else r for r in region_map.regions)
    sentence = said.format(
        below=_capital(area_words(region_map, below)), top=area_words(region_map, top)
    )
    return Edited(replace(region_map, regions=regions), sentence)


def _ground(region_map: RegionMap, top: Region) -> Region:
    """Return the sewn neighbour an area shares most of its edge with."""
    best, longest = None, 0.0
    for other in region_map.sewn_regions:
        if other.id == top.id or not other.polygon.intersects(top.polygon):
            continue
        length = shapely.intersection(other.polygon.boundary, top.polygon.boundary).length
        if length > longest:
            best, longest = other, length
    if best is None:
        raise EditError(
            _("area {number} lies on bare cloth").format(number=top.id),
            remedy=_("name the area that is to be carried on beneath it"),
        )
    return best


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
