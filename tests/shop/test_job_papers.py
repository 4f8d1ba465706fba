"""A job's papers: made from what the store knows, with one plan hash on all of them."""

from __future__ import annotations

import pypdfium2
import pytest
from tests.shop.shop_floor import agreed_job

from firstpiece.errors import InputError, JobError
from firstpiece.shop.export import ExportManner, export_design, open_source
from firstpiece.shop.job_book import note_job, open_job, read_job
from firstpiece.shop.job_design import set_colorway
from firstpiece.shop.job_order import reorder_job
from firstpiece.shop.papers import PaperChoice, make_papers
from firstpiece.shop.tickets import list_tickets


def said(data):
    document = pypdfium2.PdfDocument(data)
    text = "\n".join(page.get_textpage().get_text_bounded() for page in document)
    document.close()
    return text


@pytest.fixture
def job(badge, fresh_home):
    return agreed_job(
        badge, ("tee-white", 2, "S", ()), ("tee-white", 3, "XL", ("Ada", "מרים", "Ursel")),
    )  # fmt: skip


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
    assert made == make_papers(job, PaperChoice(labels="a4-3x8"))


def test_the_program_carries_the_hash_of_the_run_sheet(job):
    ((name, data),) = export_design(open_source(str(job)), ExportManner("motion")).items()
    plan = open_source(str(job)).mark.plan_id
    assert name == f"{job}-harvest-aprons-r1-60mm-{plan}.nc"
    assert f"plan {plan}".encode() in data
    assert plan in said(make_papers(job)["run-sheet.pdf"])


def test_colourways_are_proofed_and_exported(job):
    plan = open_source(str(job)).plan
    rack = ("poppy", "bark", "sunflower", "forest", "sand", "plum", "sky")
    set_colorway(job, "dusk", rack[: len(plan.threads)])
    made = make_papers(job)
    assert "colourway dusk" in said(made["proof.pdf"])
    assert "choices.pdf" in made
    dusk = open_source(str(job), colorway="dusk")
    assert dusk.mark.plan_id != plan.content_id()
    assert dusk.mark.plan_id in said(made["proof.pdf"])
    with pytest.raises(JobError, match="its colourways are: dusk"):
        open_source(str(job), colorway="dawn")


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
