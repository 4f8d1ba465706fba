"""Set text: letter forms at their size, where each stands, and the line they stand on.

Millimetres, y up. A letter form is kept once, standing upright with its pen at the origin; every
place it is used at is a turn and a move, so that whatever is planned for the form once (its satin
columns, its underlay) can be carried to each of its places and sews the same everywhere.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class StraightBaseline:
    """A straight line the letters stand on; the text's middle is at ``middle_mm``.

    ``angle_rad`` is the direction of reading from left to right, anticlockwise from x.
    """

    middle_mm: tuple[float, float] = (0.0, 0.0)
    angle_rad: float = 0.0


@dataclass(frozen=True, slots=True)
class ArcBaseline:
    """A circle the letters' feet stand on, the text's middle at ``middle_rad`` as seen from inside.

    Parameters
    ----------
    radius_mm : float [mm]
    centre_mm : tuple of float [mm]
    middle_rad : float [rad]
        Anticlockwise from x; a quarter turn is the top of the circle.
    is_inside : bool
        False: heads point away from the centre (over the top of a badge). True: heads point to
        the centre (along its foot), for which ``middle_rad`` is usually minus a quarter turn.
    """

    radius_mm: float
    centre_mm: tuple[float, float] = (0.0, 0.0)
    middle_rad: float = math.pi / 2
    is_inside: bool = False


@dataclass(frozen=True, slots=True)
class CircleBaseline:
    """A whole circle: the letters are spread evenly all round, the first begins at ``start_rad``.

    Heads point away from the centre unless ``is_inside``.
    """

    radius_mm: float
    centre_mm: tuple[float, float] = (0.0, 0.0)
    start_rad: float = math.pi / 2
    is_inside: bool = False


Baseline = StraightBaseline | ArcBaseline | CircleBaseline


@dataclass(frozen=True, slots=True, eq=False)
class GlyphShape:
    """A letter form at its size, upright, its pen at (0, 0) and its baseline on y = 0.

    Parameters
    ----------
    key : str
        16 hex digits of font, glyph and size. Equal keys are equal outlines, in this text and in
        any other.
    parts_mm : tuple of shapely.Polygon [mm]
        What is sewn: its connected pieces with their holes (the letter i has two), left to right,
        then bottom to top. Valid, disjoint, not empty.
    advance_mm : float [mm]
        How far the pen moves on, without kerning and letter spacing.
    """

    key: str
    parts_mm: tuple[shapely.Polygon, ...]
    advance_mm: float


@dataclass(frozen=True, slots=True)
class PlacedGlyph:
    """Where a letter form stands: turned by ``angle_rad``, then its pen moved to ``origin_mm``.

    Parameters
    ----------
    glyph : int
        Index into ``SetText.glyphs``: the same number is the same form.
    text : str
        The characters it stands for; a ligature has several, an accent set by itself shares those
        of its letter.
    word : int
        Counts from 0 along the baseline.
    origin_mm : tuple of float [mm]
    angle_rad : float [rad]
        Anticlockwise.
    """

    glyph: int
    text: str
    word: int
    origin_mm: tuple[float, float]
    angle_rad: float


@dataclass(frozen=True, slots=True, eq=False)
class SetText:
    """A line of text as letter forms and places.

    Parameters
    ----------
    text : str
        As typed.
    glyphs : tuple of GlyphShape
        Each form once, in the order in which it is first used.
    letters : tuple of PlacedGlyph
        In the order in which they stand along the baseline, from its left end (right-to-left text
        begins at the last). Spaces leave no letter.
    cap_height_mm : float [mm]
    baseline : StraightBaseline, ArcBaseline or CircleBaseline
    """

    text: str
    glyphs: tuple[GlyphShape, ...]
    letters: tuple[PlacedGlyph, ...]
    cap_height_mm: float
    baseline: Baseline

    def parts_of(self, letter: PlacedGlyph) -> tuple[shapely.Polygon, ...]:
        """Return the letter's pieces where they stand [mm], in the order of its form's parts."""
        form = self.glyphs[letter.glyph]
        return tuple(
            placed_shape(part, origin_mm=letter.origin_mm, angle_rad=letter.angle_rad)
            for part in form.parts_mm
        )

    @property
    def areas_mm(self) -> tuple[shapely.Polygon, ...]:
        """Everything sewn, letters that touch (as in joined scripts) in one piece [mm]."""
        every = [part for letter in self.letters for part in self.parts_of(letter)]
        joined = shapely.get_parts(shapely.union_all(every))
        return tuple(sorted(joined, key=lambda p: p.bounds))


@dataclass(frozen=True, slots=True)
class LetterPlace:
    """Says of an area of a design that it is a piece of a set letter.

    Areas with equal ``key`` and ``part`` have equal outlines once ``unplaced_xy`` has brought them
    back upright, so what is planned for one can be carried to the other.

    Parameters
    ----------
    key : str
        ``GlyphShape.key``.
    part : int
        Index into ``GlyphShape.parts_mm``.
    text : str
        The characters it stands for.
    order : int
        Counts letters along their baseline from 0; the pieces of one letter share it.
    origin_mm, angle_rad
        As in ``PlacedGlyph``.
    """

    key: str
    part: int
    text: str
    order: int
    origin_mm: tuple[float, float]
    angle_rad: float


def placed_xy(
    xy_mm: NDArray[np.float64], *, origin_mm: tuple[float, float], angle_rad: float
) -> NDArray[np.float64]:
    """Return points of a letter form where the letter stands.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
    origin_mm : tuple of float [mm]
    angle_rad : float [rad]

    Returns
    -------
    (n, 2) float64 [mm]
    """
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    turned = np.column_stack([xy_mm[:, 0] * c - xy_mm[:, 1] * s, xy_mm[:, 0] * s + xy_mm[:, 1] * c])
    placed: NDArray[np.float64] = turned + np.asarray(origin_mm, dtype=np.float64)
    return placed


def unplaced_xy(
    xy_mm: NDArray[np.float64], *, origin_mm: tuple[float, float], angle_rad: float
) -> NDArray[np.float64]:
    """Return points of a placed letter as they are in its upright form; undoes ``placed_xy``.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
    origin_mm : tuple of float [mm]
    angle_rad : float [rad]

    Returns
    -------
    (n, 2) float64 [mm]
    """
    moved = xy_mm - np.asarray(origin_mm, dtype=np.float64)
    return placed_xy(moved, origin_mm=(0.0, 0.0), angle_rad=-angle_rad)


def placed_shape(
    shape: shapely.Polygon, *, origin_mm: tuple[float, float], angle_rad: float
) -> shapely.Polygon:
    """Return a piece of a letter form where the letter stands [mm]."""
    placed: shapely.Polygon = shapely.transform(
        shape, lambda xy: placed_xy(xy, origin_mm=origin_mm, angle_rad=angle_rad)
    )
    return placed
