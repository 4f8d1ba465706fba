"""Jobs on the page, held against the shop's store, which has its own tests.

That a stale form changes nothing is the lost-update case of optimistic locking (common practice,
no source); that a GET changes nothing is RFC 9110 9.2.1 (safe methods).
"""

from __future__ import annotations

import re

import pytest
from tests.web.pictures import pear_png

from firstpiece.model.job import JobState
from firstpiece.shop import job_book

ORDERED = {"count": "12", "garment": "apron-natural", "names": "Ida, Quentin"}


def opened(page, **fields) -> int:
    answer = page.post("/job/new", title="Harvest aprons", **fields)
    assert answer.status_code == 303, answer.text
    return int(answer.headers["location"].rpartition("/")[2])


def act(page, number, what, *, seen=None, files=None, **fields):
    version = seen if seen is not None else job_book.read_job(number).version
    return page.post(f"/job/{number}/{what}", files=files, seen=str(version), **fields)


@pytest.fixture
def number(page) -> int:
    return opened(page, new_customer="Windfall Row", writes_by="the gate", due="2031-09-05",
                  message="Twelve aprons <b>please</b>")  # fmt: skip


def test_a_new_job_is_kept_with_its_customer_and_listed(page, number):
    kept = job_book.read_page(number)
    assert kept.job.title == "Harvest aprons"
    assert kept.customer is not None
    assert (kept.customer.name, kept.customer.writes_by) == ("Windfall Row", "the gate")
    assert [str(event.kind) for event in kept.log] == ["opened"]
    html = page.get("/jobs").text
    assert f'href="/job/{number}"' in html
    assert "Waits for us: draft the design." in html
    assert "1 job waits for us." in html
    told = page.get(f"/job/{number}").text
    assert "&lt;b&gt;please&lt;/b&gt;" in told
    assert "Fri\u00a05\u00a0Sep\u00a02031" in told


def test_nothing_is_opened_when_a_field_is_wrong(page):
    for fields in ({"due": "tomorrow"}, {"customer": "77"}):
        answer = page.post("/job/new", title="Scarves", **fields)
        assert answer.status_code == 422
        assert 'value="Scarves"' in answer.text
    spoiled = page.post("/job/new", files={"picture": ("art.png", b"no picture")}, title="Scarves",
                        new_customer="Orchard school")  # fmt: skip
    assert spoiled.status_code == 422
    assert page.post("/job/new", title=" ").status_code == 422
    assert job_book.list_jobs().jobs == ()
    assert "Orchard school</option>" not in page.get("/jobs").text


def test_search_finds_words_and_says_when_there_are_none(page, number):
    assert f'href="/job/{number}"' in page.get("/jobs?words=windf").text
    assert "No job has these words." in page.get("/jobs?words=pear").text


def test_finished_ones_are_shown_when_asked_for(page, number):
    act(page, number, "drop", reason="too late")
    assert f'href="/job/{number}"' not in page.get("/jobs").text
    assert f'href="/job/{number}"' in page.get("/jobs?show=all").text
    act(page, number, "take-up")
    assert job_book.read_job(number).state == JobState.ASKED


def test_a_long_list_goes_on_where_it_ended(page, monkeypatch):
    numbers = [job_book.open_job(title=f"Job {i}").id for i in range(3)]
    shown = job_book.list_jobs
    monkeypatch.setattr(job_book, "list_jobs", lambda *a, **k: shown(*a, **k, limit=2))
    first = page.get("/jobs").text
    (link,) = re.findall(r'href="(/jobs\?[^"]*after=[^"]+)"', first)
    rest = page.get(link.replace("&amp;", "&")).text
    listed = re.findall(r'href="/job/(\d+)"', first) + re.findall(r'href="/job/(\d+)"', rest)
    assert sorted(map(int, listed)) == numbers


def test_a_stale_form_writes_nothing_and_keeps_what_was_typed(page, number):
    seen = job_book.read_job(number).version
    assert act(page, number, "note", seen=seen, note="blue bags").status_code == 303
    late = act(page, number, "line", seen=seen, **{**ORDERED, "size": "XXL"})
    assert late.status_code == 409
    assert "Somebody else changed this job since you loaded it; nothing was written." in late.text
    assert 'value="XXL"' in late.text
    assert f'name="seen" value="{seen + 1}"' in late.text
    assert job_book.read_job(number).lines == ()
    assert act(page, number, "line", **ORDERED).status_code == 303
    (line,) = job_book.read_job(number).lines
    assert (line.count, line.names) == (12, ("Ida", "Quentin"))


@pytest.mark.parametrize("seen", ["", "now", "-1", "1" * 20])
def test_a_form_without_its_version_is_refused(page, number, seen):
    assert act(page, number, "note", seen=seen, note="x").status_code == 422
    assert job_book.read_job(number).notes == ()


@pytest.mark.parametrize(
    ("what", "fields"),
    [("line", {**ORDERED, "count": "0"}), ("line", {**ORDERED, "count": "many"}),
     ("line", {**ORDERED, "garment": "cape"}), ("line/9/remove", {}), ("offer", {}),
     ("agree", {"said_by": "Ida"}), ("answer", {"answer": "yes"}), ("move", {"state": "done"}),
     ("move", {"state": "lost"}), ("head", {"title": "", "message": ""}), ("take-up", {}),
     ("revise", {"height": "90 mm"}), ("revise", {"prepared": "0123456789abcdef-x"}),
     ("reorder", {}), ("note", {"note": "x" * 20_001})],
)  # fmt: skip
def test_what_makes_no_sense_is_told_in_one_sentence(page, number, what, fields):
    before = job_book.read_page(number)
    answer = act(page, number, what, **fields)
    assert answer.status_code in (404, 422)
    assert len(re.findall(r'role="alert"|<h1 class="wait-line">', answer.text)) == 1
    assert job_book.read_page(number) == before


def test_an_unknown_job_is_not_found(page):
    assert page.get("/job/404").status_code == 404
    assert page.post("/job/404/note", seen="1", note="x").status_code == 404


def test_forms_of_another_session_and_reading_change_nothing(page, number):
    before = job_book.read_page(number)
    answer = page.post(f"/job/{number}/note", form_key="0" * 64, seen="1", note="x")
    assert answer.status_code == 403
    for path in ("/jobs", f"/job/{number}", f"/job/{number}/note", "/job/new", "/jobs?words=a"):
        page.get(path)
    assert job_book.read_page(number) == before
    html = page.get(f"/job/{number}").text + page.get("/jobs").text
    forms = re.findall(r'<form method="post".*?</form>', html, re.DOTALL)
    assert len(forms) > 6
    assert all(f'value="{page.site.guard.form_key}"' in form for form in forms)


def test_questions_wait_for_the_customer(page, number):
    act(page, number, "ask", question="Which red?")
    assert "This job waits for the customer’s answer" in page.get(f"/job/{number}").text.replace(
        "&#39;", "’"
    )
    act(page, number, "answer", answer="The apple’s.")
    assert job_book.read_job(number).answers == (("Which red?", "The apple’s."),)


@pytest.mark.slow
@pytest.mark.usefixtures("no_price_tables")
def test_the_whole_way_from_message_to_yes_and_again(page, number):
    act(page, number, "line", **ORDERED)
    act(page, number, "line", **{**ORDERED, "names": "", "count": "3"})
    act(page, number, "line/2/remove")
    pear = {"picture": ("pear.png", pear_png())}
    for fields in ({"files": pear, "height": "40 mm"}, {"height": "4.5 cm", "reason": "larger"}):
        answer = act(page, number, "revise", **fields)
        assert answer.headers["location"].startswith("/jobs/")
        page.site.live.wait()
    assert act(page, number, "offer", free="1", until="2031-08-01").status_code == 303
    offered = job_book.read_job(number)
    assert [r.height_mm for r in offered.revisions] == pytest.approx([40, 45], abs=0.5)
    assert offered.offer is not None
    html = page.get(f"/job/{number}").text
    assert f"Plan {offered.revisions[-1].plan_id}" in html
    assert act(page, number, "agree", said_by="Ida, by letter").status_code == 303
    agreed = job_book.read_job(number).agreed
    assert agreed is not None
    assert agreed.price == offered.offer.total
    html = page.get(f"/job/{number}").text
    assert "The blanks are here" in html
    assert "Ida, by letter" in html
    act(page, number, "move", state="supplied")
    assert job_book.read_job(number).state == JobState.SUPPLIED
    again = act(page, number, "reorder", due="2032-09-01", title="Aprons again")
    new = job_book.read_job(int(again.headers["location"].rpartition("/")[2]))
    assert (new.reorder_of, new.title) == (number, "Aprons again")
    assert new.revision is not None
    assert new.revision.plan_id == agreed.plan_id
