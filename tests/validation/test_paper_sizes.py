"""Paper sizes: ISO 216:2007 (A series: A4 is 210 × 297 mm, sides 1 : √2, A0 is 1 m²); ISO 32000-1
8.3.2.3 (one default unit of user space is 1/72 in); US Letter 8½ × 11 in (ANSI/ASME Y14.1 size A).
"""

import math

import pypdfium2
import pytest
from tests.paperwork.jobs import job_of

from firstpiece.files.pdf import write_pdf
from firstpiece.model.page import PAPER_MM, Page
from firstpiece.paperwork.stage import draw_papers

POINTS = {"A4": (595.2756, 841.8898), "Letter": (612.0, 792.0)}


def test_a4_is_the_fourth_halving_of_a_square_metre():
    """ISO 216: 1 m² halved four times at 1 : √2, sides in whole millimetres."""
    width = 1000 * 2 ** (-1 / 4 - 4 / 2)
    height = 1000 * 2 ** (1 / 4 - 4 / 2)
    assert PAPER_MM["A4"] == pytest.approx((width, height), abs=0.5)
    assert math.sqrt(2) * PAPER_MM["A4"][0] == pytest.approx(PAPER_MM["A4"][1], abs=0.5)


def test_letter_is_eight_and_a_half_by_eleven_inches():
    """ANSI/ASME Y14.1 size A, at 25.4 mm to the inch."""
    assert PAPER_MM["Letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4), abs=1e-9)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_page_boxes_are_in_72nds_of_an_inch(paper):
    """ISO 32000-1: the media box of every sheet in points, read back by pdfium."""
    papers = draw_papers(job_of(paper=paper))
    for pages in (papers.proof, papers.run_sheet, papers.questions):
        document = pypdfium2.PdfDocument(write_pdf(pages))
        for page in document:
            assert page.get_size() == pytest.approx(POINTS[paper], abs=0.01)
        document.close()


def test_a_square_inch_is_72_points():
    """ISO 32000-1: 25.4 mm are 72 units."""
    document = pypdfium2.PdfDocument(write_pdf([Page(25.4, 50.8, "an inch")]))
    assert document[0].get_size() == pytest.approx((72.0, 144.0), abs=1e-3)
    document.close()
