"""The floor's door: text set in a font at a cap height, on a line, an arc or a circle.

In: text, the font's bytes, sizes in mm and a baseline. Out: a ``SetText`` of letter forms and
places. Letters are opened for sewing: by a set distance, and until no two are nearer than asked.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from gettext import gettext as _
from itertools import pairwise
from typing import TYPE_CHECKING

import shapely
from shapely import affinity

from firstpiece.errors import InputError
from firstpiece.lettering.baselines import check_baseline, check_room, place_at
from firstpiece.lettering.font_file import FontFile, glyph_parts, open_font
from firstpiece.lettering.shaping import Cluster, shape_text
from firstpiece.model.frozen import content_hash
from firstpiece.model.lettering import (
    CircleBaseline,
    GlyphShape,
    PlacedGlyph,
    SetText,
    StraightBaseline,
    placed_shape,
)

if TYPE_CHECKING:
    from firstpiece.model.lettering import Baseline

SMALLEST_CAP_MM, LARGEST_CAP_MM = 1.0, 500.0
LARGEST_SPACING_MM = 200.0
_NEAR_MM = 0.002
"""A gap this close to the one asked for is it."""


@dataclass(frozen=True, slots=True, eq=False)
class _Forms:
    """The letter forms met so far, each once."""

    font: FontFile
    mm_per_unit: float
    numbers: dict[int, int]
    shapes: list[GlyphShape]

    def number(self, glyph: int) -> int:
        """Return the place of a form in the list, drawing it when it is new."""
        if glyph not in self.numbers:
            parts = glyph_parts(self.font, glyph, mm_per_unit=self.mm_per_unit)
            key = content_hash("letter form", self.font.digest, glyph, self.mm_per_unit)[:16]
            advance = self.font.shaper.get_glyph_h_advance(glyph) * self.mm_per_unit
            self.numbers[glyph] = len(self.shapes)
            self.shapes.append(GlyphShape(key, parts, float(advance)))
        return self.numbers[glyph]


def set_text(
    text: str,
    font_bytes: bytes,
    *,
    cap_height_mm: float,
    spacing_mm: float = 0.0,
    path: Baseline | None = None,
    least_gap_mm: float = 0.0,
) -> SetText:
    """Return text as outlines per letter.

    Parameters
    ----------
    text : str
        One line as typed, in any script that the font has; right-to-left text and numbers in it
        are put in order.
    font_bytes : bytes
        An OpenType, TrueType or WOFF file.
    cap_height_mm : float [mm]
        Height of the font's capital H, 1 to 500.
    spacing_mm : float [mm]
        Added between letters, on top of the font's kerning; may be negative. Letters that touch as
        they are (joined scripts) stay joined.
    path : StraightBaseline, ArcBaseline, CircleBaseline or None
        None is a straight line with the text's middle at the origin.
    least_gap_mm : float [mm]
        Neighbouring letters that come nearer than this are opened until they do not, as measured
        where they stand; on the inside of an arc, where heads crowd, that is more.

    Returns
    -------
    SetText
        ``glyphs`` holds each letter form once (mm, upright, pen at the origin); ``letters`` says
        where each is used. The same letter is the same ``glyph`` number and the same ``key``.

    Raises
    ------
    InputError
        When a number is out of range, the font cannot be used or lacks a letter, or the text is
        longer than its circle.
    """
    baseline = StraightBaseline() if path is None else path
    _check_sizes(cap_height_mm, spacing_mm, least_gap_mm)
    check_baseline(baseline)
    font = open_font(font_bytes)
    clusters = shape_text(text, font, ligatures=spacing_mm == 0.0)
    if isinstance(baseline, CircleBaseline):
        clusters = (*clusters, _space(font))
    forms = _Forms(font, cap_height_mm / font.cap_height, {}, [])
    row = _Row(clusters, forms, baseline)
    row.open_by(spacing_mm)
    row.check_room()
    row.open_until(least_gap_mm)
    row.check_room()
    row.spread()
    letters = row.letters()
    if not letters:
        raise InputError(_("the text leaves nothing to sew"), remedy=_("type at least one letter"))
    return SetText(text, tuple(forms.shapes), letters, cap_height_mm, baseline)


def _space(font: FontFile) -> Cluster:
    """Return the space that parts the last word from the first where a circle closes."""
    glyph = font.shaper.get_nominal_glyph(ord(" "))
    advance = font.shaper.get_glyph_h_advance(glyph) if glyph else 0.3 * font.cap_height
    return Cluster(" ", (), float(advance))


class _Row:
    """Clusters along a baseline, with the room added after each.

    Parameters
    ----------
    clusters : tuple of Cluster
    forms : _Forms
    baseline : Baseline
    """

    def __init__(self, clusters: tuple[Cluster, ...], forms: _Forms, baseline: Baseline) -> None:
        self.clusters = clusters
        self.forms = forms
        self.baseline = baseline
        self.advances = [c.advance * forms.mm_per_unit for c in clusters]
        self.shapes = [self._shape(c) for c in clusters]
        following = [*self.shapes[1:], shapely.Point()]
        self.joined = [
            shapely.distance(a, affinity.translate(b, width)) == 0.0
            for a, b, width in zip(self.shapes, following, self.advances, strict=True)
        ]
        self.room = [0.0] * len(clusters)

    def _shape(self, cluster: Cluster) -> shapely.Geometry:
        """Return a cluster's outline with its own pen at the origin."""
        scale = self.forms.mm_per_unit
        parts = [
            placed_shape(part, origin_mm=(x * scale, y * scale), angle_rad=0.0)
            for glyph, x, y in cluster.glyphs
            for part in self.forms.shapes[self.forms.number(glyph)].parts_mm
        ]
        return shapely.union_all(parts)

    @property
    def length_mm(self) -> float:
        """Length of the text; the room after the last letter counts on a circle only."""
        last = 0.0 if isinstance(self.baseline, CircleBaseline) else self.room[-1]
        return sum(self.advances) + sum(self.room) - last

    def check_room(self) -> None:
        """Refuse a text that is longer than its circle."""
        check_room(self.baseline, self.length_mm - 1e-6)

    def open_by(self, spacing_mm: float) -> None:
        """Add a distance between letters that are not joined."""
        for i, is_joined in enumerate(self.joined):
            self.room[i] += 0.0 if is_joined else spacing_mm

    def spread(self) -> None:
        """On a circle, share what is left of it among the gaps."""
        if not isinstance(self.baseline, CircleBaseline):
            return
        left = 2.0 * math.pi * self.baseline.radius_mm - self.length_mm
        open_gaps = [i for i, is_joined in enumerate(self.joined) if not is_joined]
        for i in open_gaps:
            self.room[i] += left / len(open_gaps)

    def open_until(self, least_gap_mm: float) -> None:
        """Open neighbours until none is nearer than asked, where they stand."""
        # On a slant a step along the line opens a gap by less than itself: a few rounds settle it.
        for _round in range(12):
            placed = [self._placed(i) for i in range(len(self.clusters))]
            short = [
                0.0 if self.joined[i] else least_gap_mm - float(shapely.distance(*pair))
                for i, pair in enumerate(pairwise(placed))
            ]
            # The distance to nothing (a space) is not a number and asks for nothing.
            wanted = {i: gap for i, gap in enumerate(short) if gap > _NEAR_MM}
            if not wanted:
                return
            for i, gap in wanted.items():
                self.room[i] += gap
            if self.length_mm > LARGEST_CAP_MM * len(self.clusters):
                return

    def _place(self, i: int) -> tuple[tuple[float, float], float]:
        """Return where a cluster's pen is and how it is turned: its middle stands on the line."""
        before = sum(self.advances[:i]) + sum(self.room[:i])
        half = 0.5 * self.advances[i]
        (x, y), angle = place_at(self.baseline, before + half, self.length_mm)
        return (x - half * math.cos(angle), y - half * math.sin(angle)), angle

    def _placed(self, i: int) -> shapely.Geometry:
        origin, angle = self._place(i)
        return placed_shape(self.shapes[i], origin_mm=origin, angle_rad=angle)  # type: ignore[arg-type]

    def letters(self) -> tuple[PlacedGlyph, ...]:
        """Return every inked glyph where it stands."""
        found: list[PlacedGlyph] = []
        word = 0
        for i, cluster in enumerate(self.clusters):
            if cluster.is_space:
                word += bool(found) and found[-1].word == word
                continue
            (px, py), angle = self._place(i)
            c, s = math.cos(angle), math.sin(angle)
            for glyph, gx, gy in cluster.glyphs:
                x, y = gx * self.forms.mm_per_unit, gy * self.forms.mm_per_unit
                number = self.forms.number(glyph)
                if self.forms.shapes[number].parts_mm:
                    origin = (px + x * c - y * s, py + x * s + y * c)
                    found.append(PlacedGlyph(number, cluster.text, word, origin, angle))
        return tuple(found)


def _check_sizes(cap_height_mm: float, spacing_mm: float, least_gap_mm: float) -> None:
    if not SMALLEST_CAP_MM <= cap_height_mm <= LARGEST_CAP_MM:
        raise InputError(
            _("letters {mm:g} mm high cannot be set").format(mm=cap_height_mm),
            remedy=_("choose 1 to 500 mm"),
        )
    low = -0.5 * cap_height_mm
    if not (low <= spacing_mm <= LARGEST_SPACING_MM and 0.0 <= least_gap_mm <= LARGEST_SPACING_MM):
        raise InputError(
            _("letters cannot be spaced by {spacing:g} mm with gaps of {gap:g} mm").format(
                spacing=spacing_mm, gap=least_gap_mm
            ),
            remedy=_("choose from {low:g} mm to 200 mm").format(low=low),
        )
