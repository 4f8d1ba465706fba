"""Run sheet on one page, colourways, templates in tiles, labels, lists: what they must show."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from moneyed import Money
from tests.paperwork.jobs import LEAF, POPPY, finding, job_of, plan_of, quote_of, rows
from tests.paperwork.test_papers import (
    LONG,
    all_pages,
    assert_inside,
    assert_no_words_collide,
    crowded_job,
    texts,
)

from firstpiece.errors import InputError
from firstpiece.files.fonts import read_font_metrics
from firstpiece.files.material_card import CardDrawer
from firstpiece.files.pdf import rasterise_pdf, write_pdf
from firstpiece.model.hooping import (
    check_clearance,
    clearance_mm,
    clearing_hoops,
    hooping_centres,
    needle_places,
)
from firstpiece.model.material import Hoop, ThreadColor
from firstpiece.model.page import ImageItem, LineItem, Page, ShapeItem, TextItem
from firstpiece.model.paper_details import (
    NeedleCone,
    PaperColorway,
    PieceLabel,
    SewoutPicture,
    SizeRow,
)
from firstpiece.model.quote import QuoteLine
from firstpiece.model.stitch import Action
from firstpiece.paperwork.code_symbol import QUIET_MODULES, CodeKind, draw_symbol, symbol_matrix
from firstpiece.paperwork.labels import GRIDS, LabelGrid, draw_label_roll, draw_label_sheets
from firstpiece.paperwork.list_pages import draw_list
from firstpiece.paperwork.sewout_picture import draw_sewout
from firstpiece.paperwork.shop_lists import (
    Letterhead,
    PackedPiece,
    Purchase,
    SupplierList,
    buying_list,
    care_lines,
    draw_care_notes,
    pack_list,
    quote_sheet,
)
from firstpiece.paperwork.stage import draw_papers
from firstpiece.paperwork.template import draw_templates
from firstpiece.paperwork.tiles import LAP_MM, lay_tiles

METRICS = read_font_metrics()
BLUE = ThreadColor("gate blue", (30, 60, 140), 26.7)
SIZES = (SizeRow("S", 2), SizeRow("M", 5), SizeRow("XXL", 1, 95.0))


def full_job(**changes):
    """A job with everything the shop can add to its paper."""
    plan = job_of().plan
    return job_of(
        garment="tee-heather",
        **{
            "colorways": (
                PaperColorway("dusk", (BLUE, POPPY)),
                PaperColorway("night", (POPPY, BLUE), CardDrawer().garment("tee-black")),
            ),
            "sizes": SIZES,
            "tickets": tuple(f"J7L1P{i}" for i in range(1, 9)),
            "needles": tuple(
                NeedleCone(i + 1, plan.threads[i] if i < 2 else None, is_changed=i == 1)
                for i in range(12)
            ),
            "last_time": ("Poppy broke twice.", "Two sheets of backing."),
            **changes,
        },
    )


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_full_job_stays_on_the_paper(paper):
    job = full_job(paper=paper)
    papers = draw_papers(job)
    pages = (*all_pages(papers), *papers.choices, *draw_templates(job))
    assert_inside(pages, job.metrics)
    assert_no_words_collide((*all_pages(papers), *papers.choices), job.metrics)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("n_findings", [0, 6, 16, 40])
def test_the_run_sheet_is_one_page(paper, n_findings):
    findings = tuple(
        finding(f"The needle goes in {i} times within one square millimetre near the stem of the "
                "apple, a sign of hard spots and cut cloth.", (3 * i - 24, i))
        for i in range(n_findings)
    )  # fmt: skip
    sheet = draw_papers(full_job(paper=paper, findings=findings)).run_sheet
    assert len(sheet) == 1
    said = " ".join(texts(sheet))
    if n_findings == 16:
        assert all(str(i + 1) in texts(sheet) for i in range(16))
    if n_findings == 40:
        assert "lesser remarks are on the proof" in said
    for must in ("J7L1P1", "J7L1P8", "Poppy broke twice.", "S", "XXL", "95 mm", "leaf green"):
        assert must in said


def test_the_run_sheet_is_one_page_for_a_crowded_job():
    """22 threads, 40 findings, names that run over lines."""
    assert len(draw_papers(crowded_job()).run_sheet) == 1


def test_each_colourway_has_a_page_with_its_own_hash_and_threads():
    job = full_job()
    papers = draw_papers(job)
    base = len(draw_papers(replace(job, colorways=())).proof)
    assert len(papers.proof) == base + 2
    dusk, night = papers.proof[base:]
    assert {"gate blue", "poppy"} <= set(texts([dusk]))
    hashes = {t for page in (papers.proof[0], dusk, night) for t in texts([page]) if "plan" in t
        and "revision" in t and "·" in t and "Orchard" not in t}  # fmt: skip
    assert len(hashes) == 3
    assert "T-shirt, black jersey" in texts([night])
    assert {"A", "B", "C"} <= set(texts(papers.choices))
    assert draw_papers(replace(job, colorways=())).choices == ()


def test_a_colourway_must_fit_the_plan():
    with pytest.raises(ValueError, match="needs a thread for each"):
        full_job(colorways=(PaperColorway("dusk", (BLUE,)),))


def test_a_picture_that_is_there_is_not_drawn_again():
    """The proof cut from a finer picture differs from its own drawing by less than its texture."""
    job = job_of(90.0, 60.0)
    window = (-60.0, -40.0, 120.0, 80.0)
    pixels = draw_sewout(job.plan, setup=job.setup, pixels_per_mm=16.0, window_mm=window)
    pages = [draw_papers(j).proof[0] for j in (job, replace(job, sewout=SewoutPicture(
        pixels, window)))]  # fmt: skip
    drawn, cut = (next(i for i in p.items if isinstance(i, ImageItem)) for p in pages)
    assert drawn.pixels.shape == cut.pixels.shape
    difference = np.abs(drawn.pixels.astype(float) - cut.pixels).mean()
    assert difference < 12.0
    shifted = np.roll(cut.pixels, 40, axis=1)
    assert np.abs(drawn.pixels.astype(float) - shifted).mean() > 1.5 * difference


@pytest.mark.parametrize("room", [(182.0, 230.0), (90.0, 40.0)])
def test_tiles_cover_everything_and_overlap(room):
    bounds = (-210.0, -100.0, 130.0, 215.0)
    tiles = lay_tiles(bounds, room)
    for tile in tiles:
        assert tile.window[2] - tile.window[0] <= room[0] + 1e-9
        assert tile.window[3] - tile.window[1] <= room[1] + 1e-9
    grid = {(t.row, t.column): t.window for t in tiles}
    for (row, column), window in grid.items():
        if right := grid.get((row, column + 1)):
            assert window[2] - right[0] == pytest.approx(LAP_MM)
        if below := grid.get((row + 1, column)):
            assert below[3] - window[1] == pytest.approx(LAP_MM)
    assert min(t.window[0] for t in tiles) == bounds[0]
    assert max(t.window[3] for t in tiles) == bounds[3]
    (alone,) = lay_tiles((0.0, 0.0, 50.0, 30.0), room)
    assert alone.window == (0.0, 0.0, 50.0, 30.0)


@pytest.mark.parametrize("size", [(60.0, 40.0), (240.0, 300.0)])
def test_every_template_sheet_has_the_ruler_and_the_mark(size):
    job = job_of(*size, garment="sweat-moss", sizes=(SizeRow("M", 3), SizeRow("L", 2)))
    pages = draw_templates(job)
    assert_inside(pages, job.metrics)
    for page in pages:
        marks = [i for i in page.items if isinstance(i, LineItem)]
        long = [m for m in marks if abs(m.x1_mm - m.x0_mm - 100.0) < 1e-9]
        assert long, "no check ruler"
    said = " ".join(texts(pages))
    assert "90 mm" in said
    assert "94 mm" in said
    assert "Lay this line on the collar seam." in said
    n_centres = said.count("centre of the design")
    assert n_centres >= 2
    if size[0] > 200:
        assert len(pages) > 4
        assert "sheet A1" in said
        assert "sheet A2" in said


def test_a_design_no_hoop_clears_gets_marks_for_several_hoopings():
    job = job_of(420.0, 300.0, garment="tee-heather")
    said = " ".join(texts(draw_templates(job)))
    assert "hooping 1 of " in said
    hoop = job.setup.hoops[-1]
    centres = hooping_centres(job.plan, hoop)
    assert len(centres) > 1
    # Every penetration is in the field of some hooping.
    half = np.array([hoop.width_mm, hoop.height_mm]) / 2 - hoop.margin_mm
    points = job.plan.xy_mm[job.plan.is_stitch]
    inside = [np.all(np.abs(points - c) <= half + 1e-9, axis=1) for c in centres]
    assert np.any(inside, axis=0).all()


HOOPS = (Hoop("a", "A", 100.0, 80.0, 5.0), Hoop("b", "B", 140.0, 140.0, 5.0, is_round=True))


def test_jumps_count_for_clearance():
    """The foot travels a jump: 46 mm out in a hoop of half width 50 mm leaves 4 mm, not enough."""
    plan = plan_of((np.array([[0.0, 0.0], [3.0, 0.0]]), 0), threads=(LEAF,))
    assert clearance_mm(plan, HOOPS[0]) == pytest.approx(40.0)
    xy = plan.xy_mm.copy()
    xy[0] = (46.0, 0.0)
    far = replace(plan, xy_mm=xy)
    assert far.action[0] == Action.JUMP
    assert clearance_mm(far, HOOPS[0]) == pytest.approx(4.0)
    assert [h.name for h in clearing_hoops(far, HOOPS)] == ["b"]
    with pytest.raises(InputError, match=r"within 4\.0 mm of the ring; 5\.0 mm .*clears: b"):
        check_clearance(far, HOOPS[0], HOOPS)


def test_a_plan_beyond_the_ring_has_negative_clearance():
    """The corner (60, 40) of a box lies √(60² + 40²) − 70 mm beyond a ring 140 mm across."""
    plan = plan_of((rows(120.0, 80.0), 0), threads=(LEAF,))
    corner = np.hypot(*np.abs(needle_places(plan)).max(axis=0))
    assert clearance_mm(plan, HOOPS[1]) == pytest.approx(70.0 - corner, abs=1e-3)
    with pytest.raises(InputError, match=r"beyond the ring.*several hoopings"):
        check_clearance(plan, HOOPS[1], HOOPS)


LABELS = [
    PieceLabel(f"J7L1P{i}H3F9A1C2DGD0W2V9Q", LONG, ("T-shirt", f"size {i}", LONG), (LEAF, POPPY))
    for i in range(1, 30)
]


@pytest.mark.parametrize("name", sorted(GRIDS))
def test_labels_keep_to_their_cells(name):
    grid = GRIDS[name]
    pages = draw_label_sheets(LABELS, grid, METRICS, first=3)
    per_sheet = grid.rows * grid.columns
    assert len(pages) == -(-(len(LABELS) + 3) // per_sheet)
    codes = [t for t in texts(pages) if t.startswith("J7")]
    assert len(codes) == len(LABELS)
    cells = [(*grid.place(i), grid.width_mm, grid.height_mm) for i in range(per_sheet)]
    for page in pages:
        for item in page.items:
            x, y = corner_of(item)
            assert any(
                cx <= x <= cx + w and cy <= y <= cy + h for cx, cy, w, h in cells
            ), item  # fmt: skip


def corner_of(item):
    if isinstance(item, TextItem):
        return item.x_mm, item.y_mm
    assert isinstance(item, ShapeItem)
    return np.concatenate(item.rings).mean(axis=0)


def test_rolls_are_as_wide_as_they_are():
    pages = draw_label_roll(LABELS[:3], (62.0, 29.0), METRICS)
    assert [(p.width_mm, p.height_mm) for p in pages] == [(62.0, 29.0)] * 3
    with pytest.raises(InputError, match="too small to read"):
        draw_label_roll(LABELS, (12.0, 9.0), METRICS)
    with pytest.raises(InputError, match="more than A4"):
        LabelGrid("A4", 8, 4, 63.5, 33.9, 7.2, 12.9, 2.5)


@pytest.mark.parametrize("kind", list(CodeKind))
def test_the_printed_symbol_has_its_modules_and_its_quiet_zone(kind):
    """Printed and read back module by module, it is the matrix with white all round it."""
    text = LABELS[0].code
    matrix = symbol_matrix(text, kind)
    quiet = QUIET_MODULES[kind]
    side = 30.0
    page = Page(side, side, "symbol", (draw_symbol(0.0, 0.0, side, text, kind),))
    (pixels,) = rasterise_pdf(write_pdf([page]), dpi=600)
    n = len(matrix) + 2 * quiet
    centres = ((np.arange(n) + 0.5) * side / n * 600 / 25.4).astype(int)
    read = pixels[np.ix_(centres, centres)].mean(axis=2) < 128
    assert np.array_equal(read, np.pad(matrix, quiet))
    # No hairline of paper between touching modules: a dark run is dark all along.
    top, left = np.argwhere(read)[0]
    run = pixels[centres[top], centres[left] : centres[left + 1]]
    assert run.max() < 64 or not read[top, left + 1]


HEAD = Letterhead("Windfall Row", "list 7", facts=(("for", "the orchard"),))


def test_lists_lose_no_row_over_many_pages():
    purchases = tuple(
        Purchase(f"thing {i} {LONG}", f"{i} pieces", "job 7", "£1") for i in range(90)
    )
    pages = draw_list(
        buying_list([SupplierList("Hedgerow", purchases, "Monday", "£90")], HEAD), METRICS
    )
    assert len(pages) > 3
    said = texts(pages)
    for i in range(90):
        assert f"{i} pieces" in said
    assert said.count("amount") == len(pages)
    assert "order by Monday" in said
    assert_inside(pages, METRICS)
    assert_no_words_collide(pages, METRICS)


def test_an_empty_list_says_so():
    assert "Nothing on this list." in texts(draw_list(buying_list([], HEAD), METRICS))


@pytest.mark.parametrize("name", ["מרים כהן", "فاطمة", "Ursel"])
def test_names_in_any_direction_are_on_the_pack_list(name):
    pages = draw_list(pack_list([PackedPiece("J7L1P1", "tee", "M", name)], HEAD), METRICS)
    (item,) = (i for p in pages for i in p.items if isinstance(i, TextItem) and i.text == name)
    assert item.align == ("left" if name == "Ursel" else "right")
    assert_inside(pages, METRICS)
    assert write_pdf(pages) == write_pdf(pages)


def test_the_quote_adds_up_on_paper():
    line = QuoteLine("Sewing", 12, Money("3.00", "GBP"), Money("36.00", "GBP"))
    quote = replace(
        quote_of(), lines=(line,), net=Money("36.00", "GBP"), tax=Money("7.20", "GBP"),
        total=Money("43.20", "GBP"), margin=Decimal("0.5"),
    )  # fmt: skip
    said = texts(draw_list(quote_sheet([quote], HEAD, unit="in"), METRICS))
    assert {"£36.00", "£7.20", "£43.20", "Sewing"} <= set(said)
    assert any(t.endswith(" in, 12 pieces") for t in said)


def test_care_follows_cloth_and_backing():
    towel, tee = (CardDrawer().setup(n) for n in ("towel-white", "tee-white"))
    assert any("loops" in line for line in care_lines(towel))
    assert any("stays in" in line for line in care_lines(tee))
    assert not any("stays in" in line for line in care_lines(towel))
    pages = draw_care_notes(towel, HEAD, METRICS, n_notes=6)
    assert len(pages) == 2
    assert texts(pages).count("Looking after your embroidery") == 6
