"""Text set into the design, in place of the areas it replaces.

Input: a design, a ``SetLetters`` and the fonts at hand. Output: ``Edited``; each piece of a letter
is an area that knows its form, so that the same letter is sewn the same way everywhere.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

import shapely

from firstpiece.editing.addressing import find_areas
from firstpiece.editing.means import Edited, with_thread
from firstpiece.editing.placing import LaidShape, lay_shapes, shape_with_islands
from firstpiece.errors import EditError
from firstpiece.lettering.set_text import set_text
from firstpiece.model.lettering import LetterPlace

if TYPE_CHECKING:
    from firstpiece.editing.means import EditMeans
    from firstpiece.model.edit import SetLetters
    from firstpiece.model.lettering import SetText
    from firstpiece.model.region import RegionMap


def set_letters(region_map: RegionMap, edit: SetLetters, means: EditMeans) -> Edited:
    """Return the design with text set in it."""
    if edit.font not in means.fonts:
        at_hand = ", ".join(sorted(means.fonts)) or _("none")
        raise EditError(
            _("the font “{font}” is not at hand").format(font=edit.font[:80]),
            remedy=_("give its file; at hand: {fonts}").format(fonts=at_hand),
        )
    line = set_text(
        edit.text,
        means.fonts[edit.font],
        cap_height_mm=edit.cap_height_mm,
        spacing_mm=edit.spacing_mm,
        path=edit.path,
        least_gap_mm=edit.least_gap_mm,
    )
    made, color = with_thread(region_map, edit.thread, means=means)
    replaced = find_areas(region_map, edit.replaces)
    going: set[int] = set()
    for region in replaced:
        going |= shape_with_islands(region_map, region)[0]
    first = means.first_new(region_map)
    coming = [
        LaidShape(first + i, shape, color, letter)
        for i, (shape, letter) in enumerate(letter_areas(line))
    ]
    made = lay_shapes(made, going, coming, next_id=first + len(coming))
    sentence = _("“{text}” is set in {thread}, capitals {mm:.1f} mm high, as areas {a} to {b}.")
    sentence = sentence.format(
        text=edit.text,
        thread=edit.thread,
        mm=edit.cap_height_mm,
        a=first,
        b=first + len(coming) - 1,
    )
    if replaced:
        gone = ", ".join(str(r.id) for r in replaced)
        sentence += " " + _("It replaces {numbers}.").format(numbers=gone)
    return Edited(made, sentence)


def letter_areas(line: SetText) -> list[tuple[shapely.Polygon, LetterPlace | None]]:
    """Return the areas of set text along its line, each with the letter it is a piece of.

    Pieces of joined letters that touch are one area, which is no single letter.
    """
    pieces: list[shapely.Polygon] = []
    places: list[LetterPlace] = []
    for order, letter in enumerate(line.letters):
        form = line.glyphs[letter.glyph]
        for part, shape in enumerate(line.parts_of(letter)):
            pieces.append(shape)
            places.append(
                LetterPlace(
                    key=form.key,
                    part=part,
                    text=letter.text,
                    order=order,
                    origin_mm=letter.origin_mm,
                    angle_rad=letter.angle_rad,
                )
            )
    groups = _touching(pieces)
    found: list[tuple[shapely.Polygon, LetterPlace | None]] = []
    for group in groups:
        if len(group) == 1:
            found.append((pieces[group[0]], places[group[0]]))
        else:
            joined = shapely.union_all([pieces[i] for i in group])
            found += [(part, None) for part in shapely.get_parts(joined)]
    return found


def _touching(pieces: list[shapely.Polygon]) -> list[list[int]]:
    """Return the groups of pieces that touch, in the order of their first pieces."""
    group = list(range(len(pieces)))

    def root(i: int) -> int:
        while group[i] != i:
            i = group[i]
        return i

    tree = shapely.STRtree(pieces)
    for i, j in zip(*tree.query(pieces, predicate="intersects"), strict=True):
        a, b = sorted((root(int(i)), root(int(j))))
        group[b] = a
    members: dict[int, list[int]] = {}
    for i in range(len(pieces)):
        members.setdefault(root(i), []).append(i)
    return list(members.values())
