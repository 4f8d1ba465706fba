"""A job's papers: made from what the store knows, with one plan hash on all of them."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pypdfium2
import pytest
from PIL import Image
from tests.shop.shop_floor import agreed_job, stocked

from firstpiece.errors import InputError, JobError
from firstpiece.files.code_photo import read_codes
from firstpiece.files.pdf import rasterise_pdf
from firstpiece.files.picture import write_png
from firstpiece.model.order import OrderLine
from firstpiece.paperwork.agreement import say_money
from firstpiece.shop.code_print import CodePrint, write_bag_labels, write_tickets
from firstpiece.shop.day import plan_shop_day
from firstpiece.shop.export import ExportManner, export_design, open_source
from firstpiece.shop.job_book import note_job, open_job, read_job
from firstpiece.shop.job_design import revise_job, set_colorway
from firstpiece.shop.job_order import agree_job, offer_price, put_line, reorder_job
from firstpiece.shop.papers import PaperChoice, make_papers
from firstpiece.shop.prepare import PrepareRequest
from firstpiece.shop.tickets import check_ticket, list_tickets


def said(data):
    document = pypdfium2.PdfDocument(data)
    text = "\n".join(page.get_textpage().get_text_bounded() for page in document)
    document.close()
    return text


def pages(data):
    document = pypdfium2.PdfDocument(data)
    found = [page.get_textpage().get_text_bounded() for page in document]
    document.close()
    return found


@pytest.fixture(scope="module")
def shop(badge, tmp_path_factory):
    """One home for this module's jobs: working a design out takes longer than what is tested."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FIRSTPIECE_HOME", str(tmp_path_factory.mktemp("papers") / "home"))
        lines = (("tee-white", 2, "S", ()), ("tee-white", 3, "XL", ("Ada", "מרים", "Ursel")))
        yield {"job": agreed_job(badge, *lines), "two ways": two_ways_job(badge)}


@pytest.fixture
def job(shop):
    return shop["job"]


@pytest.fixture
def two_ways(shop):
    return shop["two ways"]


def two_ways_job(picture):
    """Return a job on two garments, one of them in another colourway, agreed and in stock."""
    job = open_job(title="Two ways").id
    revise_job(job, PrepareRequest(data=picture, name="b.png", height_mm=60.0, garment="tee-white"))
    n = len(open_source(str(job)).plan.threads)
    set_colorway(job, "dusk", ("plum", "bark", "sunflower", "forest", "sand", "sky", "poppy")[:n])
    put_line(job, OrderLine(0, "tee-white", 3, size="M", placement="left-chest"))
    put_line(job, OrderLine(0, "tee-black", 2, size="L", colorway="dusk"))
    offer_price(job)
    agree_job(job, said_by="Ida")
    for garment, size in (("tee-white", "M"), ("tee-black", "L")):
        stocked(garment, 20, size=size)
    return job


def test_an_agreed_job_has_all_its_papers(job):
    made = make_papers(job, PaperChoice(labels="a4-3x8"))
    assert {"proof.pdf", "run-sheet.pdf", "template.pdf", "quote.pdf", "care.pdf",
            "pack-list.pdf", "labels.pdf"} <= set(made)  # fmt: skip
    plan = open_source(str(job)).mark.plan_id
    for name in ("proof.pdf", "run-sheet.pdf", "template.pdf", "pack-list.pdf", "labels.pdf"):
        assert plan in said(made[name]), name
    sheet = said(made["run-sheet.pdf"])
    # Sizes with the placement table's millimetres, and the first and last ticket.
    assert "2 pieces" in sheet
    assert "80 mm" in sheet
    assert "92 mm" in sheet
    codes = [t.code for t in list_tickets(job)]
    assert codes[0] in sheet
    assert codes[-1] in sheet
    assert "size XL" in said(made["template.pdf"])
    assert "Ursel" in said(made["pack-list.pdf"])
    # The quote is for the pieces ordered, at the price that was offered.
    quote = said(made["quote.pdf"])
    assert "5 pieces" in quote
    assert say_money(read_job(job).offer.total) in quote
    assert made == make_papers(job, PaperChoice(labels="a4-3x8"))


def test_the_program_carries_the_hash_of_the_run_sheet(job):
    ((name, data),) = export_design(open_source(str(job)), ExportManner("motion")).items()
    plan = open_source(str(job)).mark.plan_id
    assert name == f"{job}-harvest-aprons-r1-60mm-{plan}.nc"
    assert f"plan {plan}".encode() in data
    assert plan in said(make_papers(job)["run-sheet.pdf"])


def test_colourways_are_proofed_and_exported(two_ways):
    plan = open_source(str(two_ways)).plan
    made = make_papers(two_ways)
    assert "colourway dusk" in said(made["proof.pdf"])
    dusk = open_source(str(two_ways), colorway="dusk")
    assert dusk.mark.plan_id != plan.content_id()
    assert dusk.mark.plan_id in said(made["proof.pdf"])
    assert dusk.mark.plan_id in said(made["choices.pdf"])
    with pytest.raises(JobError, match="its colourways are: dusk"):
        open_source(str(two_ways), colorway="dawn")


def test_what_was_learned_is_on_the_next_run_sheet(job):
    note_job(job, "The stem needed a slower pace.")
    again = reorder_job(job)
    number = again.id if hasattr(again, "id") else again
    assert read_job(number).reorder_of == job
    assert "The stem needed a slower pace." in said(make_papers(number)["run-sheet.pdf"])


def test_requests_that_cannot_be_met_are_told(job):
    with pytest.raises(InputError, match="“A3” is not a paper size"):
        make_papers(job, PaperChoice("A3"))
    with pytest.raises(InputError, match="“round” is no grid of labels"):
        make_papers(job, PaperChoice(labels="round"))
    with pytest.raises(JobError, match="no design yet"):
        make_papers(open_job(title="empty").id)


def test_a_colourway_has_one_hash_on_ticket_run_sheet_and_program(two_ways):
    day, dusk = open_source(str(two_ways)), open_source(str(two_ways), colorway="dusk")
    assert day.mark.plan_id != dusk.mark.plan_id
    first, second = (next(t for t in list_tickets(two_ways, line=n)) for n in (1, 2))
    assert (first.plan_id, second.plan_id) == (day.mark.plan_id, dusk.mark.plan_id)
    sheets = pages(make_papers(two_ways)["run-sheet.pdf"])
    assert len(sheets) == 2
    assert day.mark.plan_id in sheets[0]
    assert dusk.mark.plan_id in sheets[1]
    assert "T-shirt, black jersey" in sheets[1]
    assert second.code in sheets[1]
    assert second.code not in sheets[0]
    wrong = check_ticket(second.code, bag="tee-black, black, L", design=day.mark.plan_id)
    assert not wrong.agrees
    assert check_ticket(second.code, bag="tee-black, black, L", design=dusk.mark.plan_id).agrees


def test_the_run_sheet_has_the_cones_of_the_days_plan(two_ways):
    (head, *_others) = plan_shop_day().plan.heads
    slots = [slot for slot in head.slots if slot.job.job == two_ways]
    sheets = pages(make_papers(two_ways)["run-sheet.pdf"])
    assert len(slots) == 2
    for slot in slots:
        sheet = sheets[1 if slot.job.colorway else 0].replace("\r\n", " ").replace("\n", " ")
        assert head.head.label in sheet
        changes = (*slot.changes, *(head.first_loading if slot is head.slots[0] else ()))
        for change in changes:
            assert f"{change.on.color} on {change.needle}" in sheet
        assert changes or "All its cones are on from the job before." in sheet


def test_a_place_of_the_order_is_on_run_sheet_and_template(two_ways):
    made = make_papers(two_ways)
    assert "190 mm" in said(made["run-sheet.pdf"])
    template = said(made["template.pdf"])
    assert "Lay this line on the shoulder point." in template
    assert "Lay this line on the middle of the garment." in template
    assert "95 mm" in template


def test_the_proof_is_a_picture_too(job):
    made = make_papers(job)
    n = len(pages(made["proof.pdf"]))
    names = ["proof.png", *(f"proof-{i}.png" for i in range(2, n + 1))]
    assert sorted(names) == sorted(name for name in made if name.endswith(".png"))
    picture = Image.open(BytesIO(made["proof.png"]))
    dots = picture.info["dpi"][0]
    assert picture.width / dots * 25.4 == pytest.approx(210.0, abs=0.2)


@pytest.mark.parametrize(
    "how",
    [
        CodePrint("Letter", "data-matrix"),
        CodePrint(labels="a4-2x7"),
        CodePrint(code="data-matrix", labels="62x29"),
    ],
    ids=str,
)
def test_printed_tickets_are_read_back(job, tmp_path, how):
    (file,) = write_tickets(job, tmp_path, how=how)
    seen = []
    for pixels in rasterise_pdf(file.read_bytes(), dpi=200):
        seen += read_codes(write_png(pixels), name="page.png")
    assert sorted(seen) == sorted(t.code for t in list_tickets(job))


def test_bag_labels_in_the_chosen_symbol(job, tmp_path):
    (file,) = write_bag_labels(tmp_path, how=CodePrint("Letter", "data-matrix"))
    (pixels,) = rasterise_pdf(file.read_bytes(), dpi=200)
    assert len(read_codes(write_png(pixels), name="labels.png")) == 2


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"code": "stripes"}, "no kind of code"),
        ({"labels": "nanx20"}, "no grid of labels"),
        ({"paper": "A3"}, "not a paper size"),
    ],
)
def test_codes_that_cannot_be_printed_are_refused(wrong, words):
    with pytest.raises(InputError, match=words):
        replace(CodePrint(), **wrong)
