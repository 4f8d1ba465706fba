"""PDF files: same bytes, embedded fonts, true lengths, the right words and pictures."""

import re
import shutil
import subprocess

import numpy as np
import pypdfium2
import pytest
from tests.paperwork.jobs import job_of

from firstpiece.errors import PictureError
from firstpiece.files.fonts import FONT_FILES, read_font_metrics
from firstpiece.files.pdf import page_size_px, rasterise_pdf, write_pdf
from firstpiece.model.page import ImageItem, LineItem, Page, ShapeItem, TextItem
from firstpiece.paperwork.ruler import HAIR_MM, RULER_MM
from firstpiece.paperwork.stage import draw_papers

DPI = 254
"""Ten pixels to the millimetre."""


def page_of(*items, width=210.0, height=297.0, title="a page"):
    return Page(width, height, title, items)


def dark_columns(pixels, top_mm, bottom_mm):
    """Columns in which some pixel of a band [mm from the top] is nearly black."""
    band = pixels[int(top_mm * 10) : int(bottom_mm * 10)]
    return np.flatnonzero((band.max(axis=2) < 128).any(axis=0))


def test_the_same_pages_are_the_same_bytes():
    job = job_of()
    assert write_pdf(draw_papers(job).proof) == write_pdf(draw_papers(job).proof)
    assert write_pdf(draw_papers(job).run_sheet) == write_pdf(draw_papers(job).run_sheet)


def test_no_clock_is_written():
    data = write_pdf([page_of(TextItem(20, 20, "a"))])
    dates = re.findall(rb"/(?:CreationDate|ModDate) \((.*?)\)", data)
    assert all(date.startswith(b"D:2000") for date in dates)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_printed_check_ruler_is_100_mm_long(paper):
    """Rendered at 254 dpi, first to last mark of the ruler, within a tenth of a millimetre."""
    (first, *_) = draw_papers(job_of(paper=paper)).proof
    # The ruler's base line is the only line of exactly its length and width.
    (base,) = (
        item for item in first.items
        if isinstance(item, LineItem) and item.width_mm == HAIR_MM
        and abs(item.x1_mm - item.x0_mm - RULER_MM) < 1e-9
    )  # fmt: skip
    pixels = rasterise_pdf(write_pdf([first]), dpi=DPI)[0]
    from_top = first.height_mm - base.y0_mm
    # A band just above the base line cuts the upright marks alone; each mark's middle is where
    # its ink balances.
    band = pixels[int(10 * (from_top - 1.4)) : int(10 * (from_top - 0.6))]
    ink = 255.0 - band.mean(axis=(0, 2))
    middles = []
    for x_mm in (base.x0_mm, base.x1_mm):
        near = np.arange(int(10 * x_mm) - 15, int(10 * x_mm) + 16)
        assert ink[near].max() > 60
        middles.append(np.average((near + 0.5) / 10, weights=ink[near]))
    assert middles[1] - middles[0] == pytest.approx(RULER_MM, abs=0.1)


def test_a_drawn_length_is_that_length_on_paper():
    """Independent of the layout: two marks 160 mm apart, by their middles, within 0.05 mm."""
    marks = [LineItem(x, 100, x, 120, 0.3) for x in (20.0, 180.0)]
    (pixels,) = rasterise_pdf(write_pdf([page_of(*marks)]), dpi=1016)
    ink = 255.0 - pixels[(187 * 40) - 20 : (187 * 40) + 20].mean(axis=(0, 2))
    x = np.arange(len(ink)) / 40 + 1 / 80
    left, right = x < 100, x >= 100
    middles = [np.average(x[half], weights=ink[half]) for half in (left, right)]
    assert middles[1] - middles[0] == pytest.approx(160.0, abs=0.05)


@pytest.mark.skipif(shutil.which("pdffonts") is None, reason="poppler's pdffonts is not installed")
def test_every_font_is_embedded_and_subset(tmp_path):
    """By poppler's pdffonts, a reader that is not ours: emb yes in every row."""
    path = tmp_path / "proof.pdf"
    pages = [page_of(*(TextItem(20, 20 * i + 20, "Aé9", 9.0, w) for i, w in enumerate(FONT_FILES)))]
    path.write_bytes(write_pdf([*pages, *draw_papers(job_of()).run_sheet]))
    listed = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True).stdout
    rows = [line.split() for line in listed.splitlines()[2:]]
    assert len(rows) >= 3
    assert all("NotoSans" in row[0] for row in rows)
    assert all(row[-5] == "yes" for row in rows)


def test_words_can_be_read_back_from_the_file():
    """By pdfium's text extraction, accents and Greek and Cyrillic letters included."""
    words = "Ständchen ΔE00 0,4 mm² Яблоко £19.20 …"
    document = pypdfium2.PdfDocument(write_pdf([page_of(TextItem(20, 200, words))]))
    found = document[0].get_textpage().get_text_range()
    document.close()
    assert found.strip() == words


def test_signs_without_a_letter_get_a_stand_in():
    metrics = read_font_metrics()
    assert metrics.printable("3 − 2 ≤ 1 → 漢") == "3 – 2 <= 1 -> ?"
    assert metrics.width_mm("", 9.0) == 0.0


def test_letter_widths_are_those_on_paper():
    """The width told beforehand is the ink's width on a rendered page, within 0.3 mm of 150 mm."""
    metrics = read_font_metrics()
    line = "|" + "mille mosaic 0123456789 " * 4 + "|"
    for weight in FONT_FILES:
        told = metrics.width_mm(line, 12.0, weight)
        page = page_of(TextItem(10, 100, line, 12.0, weight), width=300.0)
        columns = dark_columns(rasterise_pdf(write_pdf([page]), dpi=DPI)[0], 190, 205)
        inked = (columns.max() - columns.min()) / 10
        bar = metrics.width_mm("|", 12.0, weight)
        assert inked == pytest.approx(told - bar, abs=0.5)


def test_figures_are_tabular():
    metrics = read_font_metrics()
    for weight in FONT_FILES:
        assert len({metrics.width_mm(digit, 9.0, weight) for digit in "0123456789"}) == 1


def test_holes_stay_open_and_colours_are_kept():
    ring = np.array([[50.0, 50], [150, 50], [150, 150], [50, 150]])
    hole = np.array([[80.0, 80], [120, 80], [120, 120], [80, 120]])
    page = page_of(ShapeItem((ring, hole), fill=(10, 120, 60)))
    (pixels,) = rasterise_pdf(write_pdf([page]), dpi=25.4, paper=(251, 248, 241))
    assert tuple(pixels[297 - 60, 60]) == (10, 120, 60)
    assert tuple(pixels[297 - 100, 100]) == (251, 248, 241)


def test_pictures_lie_the_right_way_up_and_keep_their_colours():
    pixels = np.zeros((40, 60, 3), np.uint8)
    pixels[:20, :, 0] = 200
    pixels[20:, :, 2] = 220
    page = page_of(ImageItem(30, 40, 60, 40, pixels))
    (seen,) = rasterise_pdf(write_pdf([page]), dpi=DPI)
    assert tuple(seen[2970 - 700, 600]) == (200, 0, 0)
    assert tuple(seen[2970 - 500, 600]) == (0, 0, 220)


def test_large_photographs_stay_close_to_their_colours():
    """Stored as JPEG: the mean within one code, each pixel of a smooth field within six."""
    rows, cols = np.mgrid[0:400, 0:600]
    pixels = np.stack([rows / 2, cols / 3, 90 + 0 * rows], axis=2).astype(np.uint8)
    (seen,) = rasterise_pdf(write_pdf([page_of(ImageItem(10, 10, 60, 40, pixels))]), dpi=DPI)
    drawn = seen[2970 - 500 : 2970 - 100, 100:700].astype(int)
    assert np.abs(drawn.mean(axis=(0, 1)) - pixels.mean(axis=(0, 1))).max() < 1.0
    assert np.abs(drawn - pixels)[5:-5, 5:-5].max() <= 6


def test_the_title_and_every_page_are_there():
    job = job_of()
    pages = draw_papers(job).proof
    document = pypdfium2.PdfDocument(write_pdf(pages))
    assert len(document) == len(pages)
    assert document.get_metadata_dict()["Title"] == "Proof: Orchard emblem"
    document.close()


def test_page_size_in_pixels():
    assert page_size_px(page_of(), 254) == (2100, 2970)


def test_no_pages_and_no_pdf_are_refused():
    with pytest.raises(ValueError, match="at least one page"):
        write_pdf([])
    for broken in (b"", b"not a pdf", b"%PDF-1.7\n"):
        with pytest.raises(PictureError) as told:
            rasterise_pdf(broken, dpi=72)
        assert told.value.remedy
    with pytest.raises(TypeError):
        write_pdf([page_of("words")])
