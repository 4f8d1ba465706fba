"""Right-to-left lines: shaped by an outside library, embedded, in the order of reading."""

from __future__ import annotations

import numpy as np
import pytest
import uharfbuzz

from firstpiece.files.fonts import read_font_metrics
from firstpiece.files.pdf import rasterise_pdf, write_pdf
from firstpiece.files.shaped_text import open_faces, shape_line
from firstpiece.model.page import Page, TextItem


def ink(text, **look):
    page = Page(120.0, 20.0, "a line", (TextItem(10.0, 8.0, text, 16.0, **look),))
    (pixels,) = rasterise_pdf(write_pdf([page]), dpi=150)
    return pixels.min(axis=2) < 128


@pytest.mark.parametrize("text", ["שלום", "بستان", "Orchard בוסתן 12"])
@pytest.mark.parametrize("weight", ["regular", "bold", "italic"])
def test_lines_leave_ink_and_no_question_marks(text, weight):
    assert read_font_metrics().printable(text) == text
    assert ink(text, weight=weight).sum() > 300


def test_hebrew_is_set_from_right_to_left():
    """Lamed is taller than alef: in אל it stands at the left, in לא at the right."""
    heights = [np.flatnonzero(half.any(axis=1)).min() for half in halves(ink("אל"))]
    assert heights[0] < heights[1]
    heights = [np.flatnonzero(half.any(axis=1)).min() for half in halves(ink("לא"))]
    assert heights[0] > heights[1]


def halves(marks):
    columns = np.flatnonzero(marks.any(axis=0))
    middle = (columns[0] + columns[-1]) // 2
    return marks[:, columns[0] : middle], marks[:, middle : columns[-1] + 1]


def test_arabic_letters_are_joined():
    """Three joined letters are one patch of ink; the library shapes them to joining forms."""
    font = open_faces("regular")[2]
    buffer = uharfbuzz.Buffer()
    buffer.add_str("سلم")
    buffer.guess_segment_properties()
    uharfbuzz.shape(font, buffer)
    alone = [font.get_nominal_glyph(ord(c)) for c in "سلم"]
    assert not set(alone) & {g.codepoint for g in buffer.glyph_infos}
    width = sum(p.x_advance for p in buffer.glyph_positions) / font.face.upem
    assert shape_line("سلم", "regular").width_em == pytest.approx(width)
    columns = ink("سلم").any(axis=0)
    inside = columns[np.flatnonzero(columns)[0] : np.flatnonzero(columns)[-1] + 1]
    assert inside.all()


def test_alignment_holds_for_shaped_lines():
    def right_edge(text, align):
        return np.flatnonzero(ink(text, align=align).any(axis=0)).max()

    dots_per_mm = 150 / 25.4
    width = shape_line("שלום", "regular").width_em * 16.0 * 25.4 / 72
    moved = right_edge("שלום", "left") - right_edge("שלום", "centre")
    assert moved == pytest.approx(width / 2 * dots_per_mm, abs=2.0)
