"""The picture of the day and the tickets: everything on the sheet, nothing lost, codes readable."""

from __future__ import annotations

import math
from datetime import date

import pytest

from firstpiece.files.code_photo import read_codes
from firstpiece.files.fonts import read_font_metrics
from firstpiece.files.pdf import rasterise_pdf, write_pdf
from firstpiece.files.picture import write_png
from firstpiece.model.day import Cone, Head, SewingJob, WorkWeek
from firstpiece.model.page import ShapeItem, TextItem
from firstpiece.model.stock import StockItem, SupplyKey, SupplyKind
from firstpiece.model.ticket import Ticket, bag_code
from firstpiece.paperwork.code_symbol import CodeKind
from firstpiece.paperwork.day_picture import DayPaper, draw_day, say_minutes
from firstpiece.paperwork.sheet import ACCENT
from firstpiece.paperwork.ticket_sheet import draw_bag_labels, draw_tickets
from firstpiece.scheduling.stage import plan_day

MONDAY = date(2031, 9, 1)
METRICS = read_font_metrics()


def job(number, *, pieces=6, due=480.0, **more):
    cones = tuple(Cone("poly-40", f"colour {i}", 75, "ball") for i in range(number % 4))
    return SewingJob(number, f"A rather long title for job {number}", pieces, 20.0, due,
                     MONDAY, cones, hoop="Round, 120 mm", backing="Tearaway", **more)  # fmt: skip


def paper(queue, n_heads=2):
    heads = [Head(f"h{i}", f"Head {i}", 4) for i in range(n_heads)]
    return DayPaper(plan_day(queue, heads), MONDAY, WorkWeek(), METRICS)


def texts(pages):
    return [item for page in pages for item in page.items if isinstance(item, TextItem)]


def assert_on_paper(pages):
    for page in pages:
        for item in page.items:
            if isinstance(item, TextItem):
                width = METRICS.width_mm(item.text, item.size_pt, item.weight)
                left = item.x_mm - {"left": 0, "centre": width / 2, "right": width}[item.align]
                assert left >= 0
                assert left + width <= page.width_mm
                assert 0 <= item.y_mm <= page.height_mm
            elif isinstance(item, ShapeItem):
                for ring in item.rings:
                    assert (ring >= -1e-9).all()
                    assert (ring <= [page.width_mm + 1e-9, page.height_mm + 1e-9]).all()


@pytest.mark.parametrize("n_jobs", [0, 1, 12, 40])
def test_every_job_stands_on_the_sheets(n_jobs):
    queue = [job(i + 1, due=480.0 * (1 + i // 6)) for i in range(n_jobs)]
    pages = draw_day(paper(queue))
    assert_on_paper(pages)
    told = {item.text for item in texts(pages)}
    assert {str(j.job) for j in queue} <= told


def test_late_jobs_and_waiting_ones_are_named():
    queue = [job(1, pieces=60), job(2, ready_min=math.inf, missing=("6 tee-white, M",))]
    pages = draw_day(paper(queue, n_heads=1))
    lines = [item.text for item in texts(pages)]
    assert any("Job 1" in line and "late" in line for line in lines)
    assert any("Job 2" in line and "missing: 6 tee-white, M" in line for line in lines)
    assert any(item.rgb == ACCENT for item in texts(pages))


def test_minutes_in_words():
    assert [say_minutes(m) for m in (5, 59.6, 125)] == ["5 min", "1 h 00 min", "2 h 05 min"]


def test_the_same_plan_is_the_same_bytes():
    queue = [job(i + 1) for i in range(5)]
    assert write_pdf(draw_day(paper(queue))) == write_pdf(draw_day(paper(queue)))


@pytest.mark.parametrize("paper_size", ["A4", "Letter"])
@pytest.mark.parametrize("kind", list(CodeKind))
def test_tickets_stay_on_their_slips_and_are_read_back(kind, paper_size):
    tickets = [
        Ticket(123_456, 12, i + 1, 11, "3f9a1c2d", "apron-natural", "natural", "3XL",
               "Wearer's left chest, centre of the design 190 mm below the shoulder point and "
               "95 mm from the middle.", "dusk", "Maximiliane-Quentinia von Apfelbaum")
        for i in range(11)
    ]  # fmt: skip
    pages = draw_tickets(tickets, title="Harvest aprons for everyone in the row", metrics=METRICS,
                         paper=paper_size, kind=kind)  # fmt: skip
    assert len(pages) == 2
    assert_on_paper(pages)
    read = []
    for pixels in rasterise_pdf(write_pdf(pages), dpi=200):
        read += read_codes(write_png(pixels), name="page.png")
    assert sorted(read) == sorted(t.code for t in tickets)


@pytest.mark.parametrize("kind", list(CodeKind))
def test_a_soft_photograph_of_one_ticket_is_read(kind):
    """Turned by hand, blurred and unevenly lit, as a telephone sees it."""
    import cv2
    import numpy as np

    ticket = Ticket(7, 1, 1, 1, "3f9a1c2d", "tee-white", "white", "M")
    drawn = draw_tickets([ticket], title="x", metrics=METRICS, kind=kind)
    page = rasterise_pdf(write_pdf(drawn), dpi=200)[0]
    slip = page[60:500, 60:830]
    turn = cv2.getRotationMatrix2D((385, 220), 11, 0.9)
    seen = cv2.warpAffine(slip, turn, (770, 440), borderValue=(90, 80, 70))
    seen = cv2.GaussianBlur(seen, (0, 0), 1.2) * np.linspace(0.55, 1.0, 770)[None, :, None]
    assert read_codes(write_png(seen.astype(np.uint8)), name="photo.png") == (ticket.code,)


def test_bag_labels_are_read_back():
    items = [
        StockItem(i + 1, SupplyKey(SupplyKind.BLANK, "tee-white", "white", size))
        for i, size in enumerate(["S", "M", "L"])
    ]
    pages = draw_bag_labels(items, metrics=METRICS)
    assert_on_paper(pages)
    pixels = rasterise_pdf(write_pdf(pages), dpi=200)[0]
    read = read_codes(write_png(pixels), name="labels.png")
    assert sorted(read) == sorted(bag_code(item.id, item.key) for item in items)
