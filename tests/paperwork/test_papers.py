"""The sheets: nothing leaves the paper, numbers agree between sheets, true size is true."""

from dataclasses import replace
from string import ascii_uppercase

import numpy as np
import pytest
from tests.paperwork.jobs import (
    LEAF,
    finding,
    forecast_of,
    job_of,
    plan_of,
    question,
    rows,
    two_areas,
)

from firstpiece.files.material_card import CardDrawer
from firstpiece.files.pdf import rasterise_pdf, write_pdf
from firstpiece.model.finding import Severity
from firstpiece.model.hooping import clearance_mm
from firstpiece.model.material import ThreadColor
from firstpiece.model.page import ImageItem, LineItem, ShapeItem, TextItem
from firstpiece.model.paper import QuestionJob
from firstpiece.model.question import Questions
from firstpiece.paperwork.garment_drawing import draw_garment, place_design
from firstpiece.paperwork.garment_shapes import KINDS, garment_outline
from firstpiece.paperwork.hoop_drawing import chosen_hoop
from firstpiece.paperwork.pins import spread_pins
from firstpiece.paperwork.sewing_order import color_blocks
from firstpiece.paperwork.sheet import MARGIN_MM, Face, Sheet, wrap
from firstpiece.paperwork.stage import draw_papers, draw_questions

LONG = "Ständchen-und-Erntefest der Obstbaugemeinschaft Überbrückungsstraße " * 3


def extents(item, metrics):
    """The box of an item on its page [mm]."""
    if isinstance(item, TextItem):
        width = metrics.width_mm(item.text, item.size_pt, item.weight)
        left = item.x_mm - {"left": 0.0, "centre": 0.5, "right": 1.0}[item.align] * width
        rise = item.size_pt * 25.4 / 72
        return left, item.y_mm - 0.25 * rise, left + width, item.y_mm + 0.8 * rise
    if isinstance(item, LineItem):
        x, y = (item.x0_mm, item.x1_mm), (item.y0_mm, item.y1_mm)
        return min(x), min(y), max(x), max(y)
    if isinstance(item, ShapeItem):
        points = np.concatenate(item.rings)
        return *points.min(axis=0), *points.max(axis=0)
    assert isinstance(item, ImageItem)
    return item.x_mm, item.y_mm, item.x_mm + item.width_mm, item.y_mm + item.height_mm


def assert_inside(pages, metrics):
    for page in pages:
        for item in page.items:
            left, bottom, right, top = extents(item, metrics)
            assert left > MARGIN_MM - 1.0, item
            assert right < page.width_mm - MARGIN_MM + 1.0, item
            assert bottom > 5.0, item
            assert top < page.height_mm - MARGIN_MM + 1.0, item


def assert_no_words_collide(pages, metrics):
    """No two lines of text on a page overlap by more than a hair (descenders may touch)."""
    for page in pages:
        lines = [i for i in page.items if isinstance(i, TextItem) and i.text]
        boxes = np.array([extents(i, metrics) for i in lines])
        # Letters without ascenders or descenders: the body of the line.
        rise = np.array([i.size_pt for i in lines]) * 25.4 / 72
        low, high = boxes[:, 1] + 0.25 * rise, boxes[:, 3] - 0.25 * rise
        wide = np.minimum(boxes[:, None, 2], boxes[None, :, 2]) - np.maximum(
            boxes[:, None, 0], boxes[None, :, 0]
        )
        tall = np.minimum(high[:, None], high[None]) - np.maximum(low[:, None], low[None])
        over = (wide > 0.1) & (tall > 0.1) & ~np.eye(len(lines), dtype=bool)
        assert not over.any(), [lines[k].text for k in np.flatnonzero(over.any(axis=1))]


def texts(pages):
    return [i.text for p in pages for i in p.items if isinstance(i, TextItem)]


def all_pages(papers):
    return (*papers.proof, *papers.run_sheet, *papers.questions)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("garment", ["apron-natural", "polo-navy", "towel-white", "mat-canvas"])
def test_everything_stays_on_the_paper(paper, garment):
    job = job_of(garment=garment, paper=paper)
    pages = all_pages(draw_papers(job))
    assert_inside(pages, job.metrics)
    assert_no_words_collide(pages, job.metrics)


def crowded_job(**changes):
    """Long names, many threads, many findings, many prices, many questions."""
    threads = tuple(ThreadColor(f"{LONG}{i}", (9 * i, 90, 200 - 8 * i), 26.7) for i in range(22))
    region_map, _ = two_areas(threads=threads[:2])
    plan = plan_of(*((rows(20.0, 4.0, y=float(i - 11)), i) for i in range(22)), threads=threads)
    setup = CardDrawer().setup("sweat-moss")
    garment = replace(setup.garment, label=LONG, placement=LONG * 2, color_name=LONG)
    return job_of(
        title=LONG, revision=LONG, region_map=region_map, plan=plan, forecast=forecast_of(plan),
        setup=replace(setup, garment=garment),
        findings=tuple(finding(f"{LONG} {i}", (i % 5, i // 5)) for i in range(40)),
        quotes=job_of().quotes * 30,
        questions=Questions(tuple(question(letter, LONG) for letter in ascii_uppercase), ""),
        **changes,
    )  # fmt: skip


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_long_names_and_long_lists_stay_on_the_paper(paper):
    job = crowded_job(paper=paper)
    papers = draw_papers(job)
    assert_inside(all_pages(papers), job.metrics)
    assert_no_words_collide(all_pages(papers), job.metrics)
    assert len(papers.proof) > 2
    # All 22 colour blocks and all 30 prices are there, none lost between sheets.
    shown = texts(papers.run_sheet)
    assert [t for t in shown if t.isdigit() and t in map(str, range(1, 23))]
    assert sum(t == "£19.20" for t in texts(papers.proof)) == 30


def test_words_that_stand_alone_are_cut_not_lost():
    metrics = job_of().metrics
    word = "W" * 200
    lines = wrap(word, 50.0, Face(9.0), metrics)
    assert "".join(lines) == word
    assert all(metrics.width_mm(line, 9.0) <= 50.0 for line in lines)


@pytest.mark.parametrize("size", [(60.0, 40.0), (20.0, 12.0), (150.0, 120.0)])
def test_small_designs_are_drawn_at_true_size(size):
    (first, *_) = draw_papers(job_of(*size)).proof
    assert "True size." in texts([first])
    (image,) = (i for i in first.items if isinstance(i, ImageItem))
    # 8 pixels to the millimetre of paper: the picture's own scale is the paper's.
    assert image.pixels.shape[1] == pytest.approx(8 * image.width_mm, abs=1)


@pytest.mark.parametrize("size", [(30.0, 150.0), (150.0, 30.0), (14.0, 9.0), (480.0, 330.0)])
def test_odd_shapes_stay_on_the_paper(size):
    job = job_of(*size, garment="sweat-moss", paper="Letter")
    pages = all_pages(draw_papers(job))
    assert_inside(pages, job.metrics)
    assert_no_words_collide(pages, job.metrics)


def test_large_designs_say_their_scale_and_their_true_size():
    (first, *_) = draw_papers(job_of(240.0, 200.0, garment="sweat-moss")).proof
    said = texts([first])
    assert any(t.startswith("Shown at ") and t.endswith(" % of true size.") for t in said)
    assert "240 × 200 mm" in said
    assert "True size." not in said


def test_inches_are_written_for_those_who_read_them():
    """1 in is 25.4 mm (international yard and pound agreement of 1959)."""
    said = texts(draw_papers(job_of(50.8, 25.4, unit="in")).proof)
    assert "2 × 1 in" in said
    # The apron's card says 70 mm.
    words = " ".join(said)
    assert "2.76 in" in words
    assert "70 mm" not in words


def test_the_same_hash_and_the_same_numbers_stand_on_every_sheet():
    job = job_of()
    papers = draw_papers(job)
    for pages in (papers.proof, papers.run_sheet):
        assert any(job.plan.content_id() in t for t in texts(pages))
        assert {"1", "2"} <= set(texts(pages))
        assert any("Three ties meet here." in t for t in texts(pages))


def test_a_design_without_hoop_is_refused_in_words():
    papers = draw_papers(job_of(300.0, 280.0, garment="polo-navy"))
    said = " ".join(texts(papers.run_sheet))
    assert "Do not sew" in said
    assert "none clears" in said


def test_block_findings_are_told_in_the_accent_colour():
    job = job_of(findings=(finding("It strikes the ring.", severity=Severity.BLOCK),))
    (line,) = (
        i for p in draw_papers(job).run_sheet for i in p.items
        if isinstance(i, TextItem) and i.text == "It strikes the ring."
    )  # fmt: skip
    assert line.rgb == (166, 61, 28)


def test_cautions_follow_the_garment():
    skin = " ".join(texts(draw_papers(job_of(garment="tee-white")).run_sheet))
    apron = " ".join(texts(draw_papers(job_of()).run_sheet))
    assert "soft sheet" in skin
    assert "soft sheet" not in apron
    for always in ("hands clear", "eye protection", "ventilation", "manual"):
        assert always in apron


def test_question_sheet_asks_every_question():
    job = job_of()
    sheet = draw_questions(
        QuestionJob("Orchard", job.region_map, job.questions, (255, 255, 255), job.metrics)
    )
    assert question().text in texts(sheet)
    assert "sew it in white" in texts(sheet)
    nothing = replace(job, questions=Questions((), ""))
    assert draw_papers(nothing).questions == ()


def test_minutes_by_colour_add_up_to_the_forecast():
    job = job_of()
    blocks = color_blocks(job.plan, job.forecast, job.setup.machine)
    assert sum(b.minutes for b in blocks) == pytest.approx(7.0)
    assert sum(b.n_stitches for b in blocks) == job.plan.n_stitches
    # Both colours have as many stitches; the second also bears the colour change.
    assert blocks[1].minutes > blocks[0].minutes


def test_clearance_is_the_distance_to_the_ring():
    """A 60 by 40 box in a ring of 120 across: 60 − √(30² + (20 − 0.19)²) mm at its corners."""
    job = job_of()
    hoop = chosen_hoop(job)
    assert hoop.name == "round-120"
    top = float(np.abs(job.plan.xy_mm[:, 1]).max())
    assert clearance_mm(job.plan, hoop) == pytest.approx(60 - np.hypot(30.0, top), abs=1e-3)


@pytest.mark.parametrize(
    ("name", "centre_y"),
    [("apron-natural", -70 - 20), ("polo-navy", -190), ("towel-white", 60 + 20), ("mat-canvas", 0)],
)
def test_placement_is_read_from_the_card(name, centre_y):
    """Top, centre or lower edge of a design 40 mm high at the card's distance."""
    garment = CardDrawer().garment(name)
    x, y, *_ = place_design(garment, 40.0)
    assert y == pytest.approx(centre_y)
    assert x == garment_outline(garment.kind).axis_x


def test_the_left_chest_is_beside_the_middle_and_below_the_shoulder():
    """The wearer's left lies at the right; the shoulder point is above a shirt's collar seam."""
    tee = CardDrawer().garment("tee-white")
    words = (
        "Wearer's left chest, centre of the design 190 mm below the shoulder point and 95 mm from "
        "the middle."
    )
    place = place_design(replace(tee, placement=words), 40.0)
    assert place.x == 95.0
    assert place.mark_y > 0.0
    assert place.y == place.mark_y - 190.0
    assert place.span(40.0) == (place.mark_y, place.y)


def test_a_place_in_other_words_is_not_drawn():
    job = job_of(garment="tee-white")
    elsewhere = replace(job.setup.garment, placement="On the left sleeve, as the customer says.")
    other = replace(job, setup=replace(job.setup, garment=elsewhere))
    sheets = [Sheet("A4", job.metrics), Sheet("A4", job.metrics)]
    for sheet, own in zip(sheets, (job, other), strict=True):
        box = (20.0, 100.0, 80.0, 80.0)
        draw_garment(sheet, box, own.setup.garment, own.region_map, unit="mm")
    greens = [[i for i in s.items if getattr(i, "fill", None) == LEAF.rgb] for s in sheets]
    assert greens[0]
    assert not greens[1]


def test_every_garment_of_the_cards_has_an_outline_of_its_own():
    cards = CardDrawer()
    kinds = {cards.garment(name).kind for name in cards.names("garments")}
    assert kinds <= set(KINDS)
    assert garment_outline("not known").cloth not in [garment_outline(k).cloth for k in KINDS]


def test_pins_never_cover_each_other():
    spots = [(0.0, 0.0)] * 30
    put = np.array(spread_pins(spots, 4.0))
    apart = np.hypot(*(put[:, None] - put[None]).transpose(2, 0, 1))
    assert apart[~np.eye(30, dtype=bool)].min() >= 4.0 - 1e-9
    assert tuple(put[0]) == spots[0]


def test_the_picture_on_paper_is_the_cloth_of_the_garment():
    (first, *_) = draw_papers(job_of(garment="tee-black")).proof
    (image,) = (i for i in first.items if isinstance(i, ImageItem))
    (pixels,) = rasterise_pdf(write_pdf([first]), dpi=127)
    x, y = image.x_mm + 4.0, image.y_mm + 4.0
    patch = pixels[-int(y * 5) - 6 : -int(y * 5), int(x * 5) : int(x * 5) + 6]
    assert np.abs(patch.mean(axis=(0, 1)) - (29, 29, 31)).max() < 8
