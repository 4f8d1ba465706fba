"""A labelled partition on its way to a design, and the choices made for pixels and shapes alike.

Input: colours with the area each shows. Output: which colour is sewn for which, or a refusal.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

import cv2
import numpy as np

from firstpiece.errors import PictureError
from firstpiece.kernels.color_difference import ciede2000, srgb_to_lab
from firstpiece.model.region import BARE, TraceOptions
from firstpiece.tracing.few_colors import merge_colors

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.geometry.partition import Partition
    from firstpiece.model.material import RGB
    from firstpiece.tracing.notes import Changes

BARE_MATCH = 20.0
"""A colour asked to be bare means no colour of the art that differs by more (CIEDE2000)."""


@dataclass(frozen=True, slots=True, eq=False)
class Traced:
    """A labelled partition in mm, the colours its labels name, and what was changed.

    Parameters
    ----------
    partition : Partition
        Of a picture: in mm, y up, origin at the picture's lower left corner.
    colors : tuple of RGB
    changes : Changes
    size_mm : tuple of float
        Width and height of the picture's frame; 0 for a drawing.
    n_nodes : int
        Points that the edges are drawn through, each edge counted once.
    """

    partition: Partition
    colors: tuple[RGB, ...]
    changes: Changes
    size_mm: tuple[float, float] = (0.0, 0.0)
    n_nodes: int = 0


def choose_colors(
    colors: tuple[RGB, ...], areas: NDArray[np.float64], options: TraceOptions
) -> tuple[NDArray[np.int64], int]:
    """Return for each colour the one that is sewn for it, or BARE; and how many were merged.

    Parameters
    ----------
    colors : tuple of RGB, length n
    areas : (n,) float64
        How much of the art each covers, in any unit.
    options : TraceOptions

    Returns
    -------
    (n,) int64, int
    """
    stands_for = merge_colors(colors, areas, n_colors=options.n_colors)
    n_merged = int(((stands_for != np.arange(len(colors))) & (areas > 0)).sum())
    used = np.unique(stands_for[areas > 0])
    if options.bare_colors and len(used):
        art = srgb_to_lab(np.array([colors[i] for i in used.tolist()], dtype=np.float64))
        wanted = srgb_to_lab(np.array(options.bare_colors, dtype=np.float64))
        difference = ciede2000(wanted, art)
        nearest = used[difference.argmin(axis=1)[difference.min(axis=1) <= BARE_MATCH]]
        stands_for = np.where(np.isin(stands_for, nearest), BARE, stands_for)
    return stands_for, n_merged


def check_paint(labels: NDArray[np.integer], name: str) -> None:
    """Refuse a map with nothing in it, or with one label from edge to edge."""
    if (labels == BARE).all():
        what = _("nothing is painted here that can be sewn at this height")
        raise PictureError(what, where=name, remedy=_("choose a larger height or other art"))
    if labels.ndim == 2 and (labels == labels[0, 0]).all():
        raise one_color(name)


def one_color(name: str) -> PictureError:
    """Return the refusal of a picture that one colour fills."""
    what = _("one colour fills the whole picture, so there is no shape to sew")
    return PictureError(what, where=name, remedy=_("send a picture with a shape on it"))


def rgb_of(palette: NDArray[np.float32]) -> tuple[RGB, ...]:
    """Return CIELAB colours as 8-bit sRGB."""
    rgb = cv2.cvtColor(palette[None].astype(np.float32), cv2.COLOR_LAB2RGB)[0]
    codes = np.clip(rgb * 255.0, 0, 255).round().astype(int).tolist()
    return tuple((int(r), int(g), int(b)) for r, g, b in codes)
