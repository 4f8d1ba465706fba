"""A picture dropped on the page is a job of the store; what is drafted for it is its design.

Held against the shop's store: one kind of job, its log saying where each revision came from.
"""

from __future__ import annotations

import pytest
from tests.web.pictures import NOTHING_SVG, pear_png

from firstpiece.model.job import JobState
from firstpiece.shop import (
    budget,
    customers,
    job_book,
    job_design,
    job_order,
    order_questions,
)
from firstpiece.shop.prepare import PrepareRequest
from firstpiece.store.home import drafts_folder
from firstpiece.web.job_folder import draft_id

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("no_price_tables")]

ASKED = {"height": "40 mm", "garment": "tee-white", "quantity": "12"}
AGAIN = {"height": "45 mm", "garment": "tee-white", "thread": "", "quantity": "12"}


@pytest.fixture(scope="module")
def page(shared_page):
    return shared_page


@pytest.fixture(scope="module")
def draft(page):
    page.bring(pear_png(), name="pear tree.png", **ASKED)
    (draft,) = page.site.folder.jobs()
    return draft


def act(page, number, what, **fields):
    seen = fields.pop("seen", None) or job_book.read_job(number).version
    return page.post(f"/job/{number}/{what}", seen=str(seen), **fields)


def test_a_dropped_picture_is_a_job_found_by_search_with_its_design(page, draft):
    (found,) = job_book.search_shop("pear tree").jobs
    assert (found.id, found.title, found.state) == (draft.number, "pear tree", JobState.DRAFTED)
    job = job_book.read_job(found.id)
    assert [str(e.kind) for e in job_book.read_page(job.id).log] == [
        "opened", "picture received", "design revised"]  # fmt: skip
    result = page.site.folder.read(draft.id, draft.run_id, "traveller.json")
    assert job.revision.plan_id == result["plan"]["plan_id"]
    assert (job.revision.quantity, job.revision.reason) == (12, "first draft")
    assert draft.id == draft_id(job.id, job.pictures[0].hash)
    html = page.get(f"/jobs/{draft.id}").text
    assert f'<a href="/job/{job.id}">Job {job.id}</a> · pear tree' in html
    assert "This is revision 1 of" in html
    assert f"/jobs/{draft.id}/{draft.run_id}/pictures/thumb.png" in page.get(f"/job/{job.id}").text


def test_dropped_again_it_is_the_same_job(page, draft):
    page.bring(pear_png(), name="copy.png", **ASKED)
    assert [job.number for job in page.site.folder.jobs()] == [draft.number]
    assert len(job_book.read_job(draft.number).revisions) == 1


def test_another_try_is_kept_with_its_reason_until_a_price_is_offered(page, draft):
    number = draft.number
    page.post(f"/jobs/{draft.id}/again", **AGAIN)
    page.site.live.wait()
    kept = job_book.read_job(number)
    assert [r.reason for r in kept.revisions] == ["first draft", "45 mm high"]

    act(page, number, "line", count="12", garment="tee-white")
    act(page, number, "offer")
    page.post(f"/jobs/{draft.id}/again", **{**AGAIN, "height": "50 mm"})
    page.site.live.wait()
    job = job_book.read_job(number)
    assert (len(job.revisions), job.state) == (2, JobState.QUOTED)
    tried = page.site.folder.job(draft.id).run_id
    assert "This was only tried" in page.get(f"/jobs/{draft.id}").text

    stale = act(page, number, "keep", seen="1", draft=f"{draft.id}-{tried}")
    assert stale.status_code == 409
    assert act(page, number, "keep", draft=f"{draft.id}-{draft.id}").status_code in (404, 422)
    answer = act(page, number, "keep", draft=f"{draft.id}-{tried}", reason="the customer chose it")
    assert answer.status_code == 303
    job = job_book.read_job(number)
    assert (job.revision.reason, job.state, job.offer) == (
        "the customer chose it", JobState.DRAFTED, None)  # fmt: skip


def test_planned_for_the_order_it_is_kept_though_a_yes_was_given(page, draft):
    number = draft.number
    job_order.offer_price(number)
    job_order.agree_job(number, said_by="Ida")
    n_before = len(job_book.read_job(number).revisions)
    answer = act(page, number, "revise", height="42 mm", reason="a little smaller")
    assert answer.headers["location"] == f"/jobs/{draft.id}"
    page.site.live.wait()
    job = job_book.read_job(number)
    assert len(job.revisions) == n_before + 1
    assert (job.revision.reason, job.revision.height_mm) == ("a little smaller", 42.0)
    assert job.agreed is None


def test_for_a_job_that_is_somebody_s_the_same_picture_opens_another(page, draft):
    page.bring(pear_png(), name="for somebody else.png", **ASKED)
    newest = page.site.folder.jobs()[0]
    assert newest.number != draft.number
    assert job_book.read_job(newest.number).title == "for somebody else"


def test_a_job_changed_while_its_design_was_planned_keeps_nothing_and_says_so(
    page, draft, monkeypatch
):
    number = draft.number
    n_before = len(job_book.read_job(number).revisions)
    begin = page.site.live.prepare

    def note_first(_self, *ids):
        job_book.note_job(number, "rang")
        begin(*ids)

    monkeypatch.setattr(type(page.site.live), "prepare", note_first)
    act(page, number, "revise", height="41 mm")
    page.site.live.wait()
    assert len(job_book.read_job(number).revisions) == n_before
    html = page.get(f"/jobs/{draft.id}").text
    kept = html[html.index('id="kept"') :]
    assert "changed" in kept[: kept.index("</section>")]


def test_a_revision_made_elsewhere_is_drawn_and_not_kept_twice(page):
    job = job_book.open_job(title="Scarves")
    wished = PrepareRequest(pear_png(), "pear.png", 40.0, garment="tee-black")
    job_design.revise_job(job.id, wished)
    html = page.get(f"/job/{job.id}").text
    assert "Draw revision 1 to look at it" in html
    act(page, job.id, "draw", revision="1")
    page.site.live.wait()
    kept = job_book.read_job(job.id)
    assert len(kept.revisions) == 1
    made = page.site.folder.draft_of(job.id, kept.pictures[0].hash)
    result = page.site.folder.read(made.id, made.run_id, "traveller.json")
    assert result["plan"]["plan_id"] == kept.revision.plan_id
    assert act(page, job.id, "draw", revision="9").status_code == 422


def test_what_the_customer_answered_is_followed(page):
    job = job_book.open_job(title="White left bare")
    job_design.receive_picture(job.id, pear_png(), name="pear.png")
    found = order_questions.ask_order(job.id)
    bare = [p for p in found.points if any(c.effect == "bare" for c in p.choices)]
    if not bare:
        order_questions.answer_order(job.id, next(
            p.letter for p in found.points if p.code == "height"), "44 mm")  # fmt: skip
    else:
        n = next(i for i, c in enumerate(bare[0].choices, 1) if c.effect == "bare")
        order_questions.answer_order(job.id, bare[0].letter, str(n))
    act(page, job.id, "revise", height="44 mm", garment="tee-white")
    page.site.live.wait()
    revision = job_book.read_job(job.id).revision
    assert revision.height_mm == 44.0
    assert bool(revision.options.bare_colors) == bool(bare)


def test_a_design_that_can_no_longer_change_is_refused_before_any_work(page, draft):
    number = draft.number
    job_order.offer_price(number)
    job_order.agree_job(number, said_by="Ida")
    job_book.step_job(number, JobState.SEWING)
    answer = act(page, number, "revise", height="47 mm")
    assert "can no longer change" in answer.text


def test_erasing_the_customer_takes_the_drafts_too(page, draft):
    from firstpiece.model.customer import Customer

    who = customers.open_customer(Customer(0, "Windfall Row"))
    job_book.change_head(draft.number, {"customer": who.id})
    assert page.site.folder.path(draft.id).is_dir()
    customers.erase_customer(who.id)
    assert not (drafts_folder() / draft.id).exists()
    assert page.get(f"/jobs/{draft.id}").status_code == 404


def test_a_drawing_of_nothing_fails_where_it_is_read(page):
    page.bring(NOTHING_SVG, name="nothing.svg")
    job = next(j for j in page.site.folder.jobs() if j.label == "nothing.svg")
    assert "This job waits for a change" in page.get(f"/jobs/{job.id}").text
    assert job_book.read_job(job.number).revision is None


def test_the_largest_size_for_a_budget_is_looked_for_behind_the_page(page, monkeypatch):
    """Between 20 and 40 mm here, so that few plans are made; the answer was itself planned."""
    real = budget.fit_budget
    monkeypatch.setattr(
        budget, "fit_budget", lambda *args, **how: real(*args, least_mm=20.0, most_mm=40.0, **how)
    )
    page.bring(pear_png(), name="budget.png", height="30 mm", garment="tee-white")
    draft = next(job for job in page.site.folder.jobs() if job.number)
    here = f"/jobs/{draft.id}/{draft.run_id}"
    assert page.post(f"{here}/fit", budget="a lot").status_code == 422
    assert page.post(f"{here}/fit", budget="1000").headers["location"] == f"{here}#budget"
    page.site.live.wait()
    assert page.get(f"{here}/state?of=fit").json()["status"] == "done"
    assert "up to 40 mm high" in page.get(here).text
