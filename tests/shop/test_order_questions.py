"""What an order leaves open is asked by letter, and the answers are carried out."""

from __future__ import annotations

from datetime import date
from io import BytesIO

import pytest
from PIL import Image, ImageDraw

from firstpiece.editing.means import EditMeans
from firstpiece.editing.stage import replay_edits
from firstpiece.errors import JobError, LengthError
from firstpiece.model.edit import EditLog, SwapThread
from firstpiece.model.job import Waiting
from firstpiece.model.order import OrderLine
from firstpiece.model.order_answers import answer_point
from firstpiece.model.order_question import SettledPoint, wishes_for
from firstpiece.shop import job_book, job_design, job_order
from firstpiece.shop.finishing import finish_job
from firstpiece.shop.order_questions import (
    answer_order,
    ask_order,
    draw_asked,
    list_order_questions,
)
from firstpiece.shop.prepare import PrepareRequest


def ring_picture() -> bytes:
    """A red disc on white paper with a white square inside: white thread, or cloth?"""
    image = Image.new("RGB", (240, 240), "white")
    pen = ImageDraw.Draw(image)
    pen.ellipse((20, 20, 220, 220), fill=(206, 40, 38))
    pen.rectangle((80, 80, 160, 160), fill="white")
    out = BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


@pytest.fixture
def job(fresh_home):
    """An order of shirts without sizes, place or day, and a first design."""
    opened = job_book.open_job(title="harvest shirts")
    job_order.put_line(opened.id, OrderLine(0, "tee-black", 10))
    request = PrepareRequest(data=ring_picture(), name="ring.png", height_mm=50.0)
    return job_design.revise_job(opened.id, request).job


def letter_of(found, code: str) -> str:
    (point,) = (p for p in found.points if p.code == code)
    return point.letter


def codes(found) -> list[str]:
    return [point.code for point in found.points]


def test_the_message_asks_for_all_that_is_missing(job):
    found = list_order_questions(job.id)
    assert codes(found)[-5:] == ["sizes", "placement", "due", "cover", "postage"]
    assert codes(found)[0] == "bare-or-thread"
    for point in found.points:
        assert f"{point.letter}. {point.text}" in found.message
        for n, choice in enumerate(point.choices, start=1):
            assert f"   {n}) {choice.label}" in found.message
    assert len({point.letter for point in found.points}) == len(found.points)
    # Only looking writes nothing.
    assert job_book.read_job(job.id) == job
    assert set(draw_asked(found)) == {"questions.txt", "questions.png"}


def test_the_job_waits_until_the_last_point_is_answered(job):
    found = ask_order(job.id)
    assert found.job.waiting == Waiting.ANSWER
    said = {"sizes": "10 M", "due": "2031-09-01"}
    for point in found.points:
        assert job_book.read_job(job.id).waiting == Waiting.ANSWER
        after = answer_order(job.id, point.letter, said.get(point.code, "1"))
    assert after.waiting != Waiting.ANSWER
    assert [question for question, _said in after.answers] == [p.text for p in found.points]
    assert codes(list_order_questions(job.id)) == []
    assert "clear" in ask_order(job.id).message
    assert job_book.read_job(job.id) == after


def test_day_sizes_and_place_change_the_order_at_once(job):
    found = ask_order(job.id)
    place = next(p for p in found.points if p.code == "placement").choices[1].value
    answer_order(job.id, letter_of(found, "due"), "2031-09-01")
    answer_order(job.id, letter_of(found, "placement").lower(), "2")
    after = answer_order(job.id, letter_of(found, "sizes"), "4 S, 5 x M; 1 XL")
    assert after.due == date(2031, 9, 1)
    assert [(n.count, n.size, n.placement) for n in after.lines] == [
        (4, "S", place), (5, "M", place), (1, "XL", place)]  # fmt: skip


def test_white_left_bare_is_followed_by_the_next_revision(job):
    found = ask_order(job.id)
    point = next(p for p in found.points if p.code == "bare-or-thread")
    bare = 1 + [choice.effect for choice in point.choices].index("bare")
    answer_order(job.id, point.letter, str(bare))
    before = job.revision
    assert "white" in " ".join(before.threads)
    done = job_design.revise_job(job.id, PrepareRequest(b"", "", height_mm=50.0))
    after = done.job.revision
    assert len(after.threads) == len(before.threads) - 1
    assert after.n_stitches < before.n_stitches
    (rgb,) = after.options.bare_colors
    assert min(rgb) > 240
    assert job_design.prepare_revision(done.job).plan.content_id() == after.plan_id
    # What the customer said is not asked about once more.
    assert "bare-or-thread" not in codes(list_order_questions(job.id))


def test_an_answer_holds_for_its_own_picture_only(job, badge):
    found = ask_order(job.id)
    point = next(p for p in found.points if p.code == "bare-or-thread")
    bare = 1 + [choice.effect for choice in point.choices].index("bare")
    answer_order(job.id, point.letter, str(bare))
    other = job_design.revise_job(job.id, PrepareRequest(badge, "badge.png", height_mm=50.0))
    assert other.job.revision.options.bare_colors == ()


def test_answers_add_up_to_the_wishes_of_one_picture():
    mine, other = "1" * 64, "2" * 64
    settled = (
        SettledPoint("near-colors", "a>b", mine, "merge", "moss>fern"),
        SettledPoint("near-colors", "b>c", mine, "merge", "fern>oak"),
        SettledPoint("near-colors", "c>d", mine, "keep"),
        SettledPoint("too-small", "3", mine, "height", 70),
        SettledPoint("too-small", "4", mine, "height", 95.0),
        SettledPoint("too-small", "5", mine, "drop"),
        SettledPoint("bare-or-thread", "#ffffff", mine, "bare", "#ffffff"),
        SettledPoint("bare-or-thread", "#000000", other, "bare", "#000000"),
    )
    wishes = wishes_for(settled, mine)
    assert wishes.height_mm == 95.0
    assert wishes.bare_colors == ((255, 255, 255),)
    assert dict(wishes.merged) == {"moss": "oak", "fern": "oak"}


def test_two_threads_made_one(job):
    prepared = job_design.prepare_revision(job)
    old, new = job.revision.threads[:2]
    rack = prepared.setup.thread.colors
    log = EditLog(0.0, (SwapThread(old, new),))
    merged = replay_edits(prepared.region_map, log, means=EditMeans(rack)).region_map
    assert {merged.thread_of(r).name for r in merged.sewn_regions} == {new}
    request = PrepareRequest(b"", "", height_mm=50.0, edits=log)
    revised = job_design.revise_job(job.id, request).job
    assert revised.revision.threads == (new,)
    again = job_design.prepare_revision(job_book.read_job(job.id))
    assert again.plan.content_id() == revised.revision.plan_id


@pytest.mark.parametrize(
    ("code", "said", "told"),
    [
        ("due", "soon", "2031-04-05"),
        ("sizes", "4 S, 5 M", "share out 10 pieces"),
        ("sizes", "0 S, 10 M", "change the line"),
        ("sizes", "", "share out 10 pieces"),
        ("placement", "9", "1 to"),
        ("postage", "you", "1 to 3"),
    ],
)
def test_what_cannot_be_carried_out_is_refused_with_the_way_on(job, code, said, told):
    found = ask_order(job.id)
    with pytest.raises(JobError) as refused:
        answer_order(job.id, letter_of(found, code), said)
    assert told in str(refused.value)
    assert job_book.read_job(job.id) == found.job


def test_a_letter_that_was_not_asked_is_refused(job):
    with pytest.raises(JobError, match="no point"):
        answer_point(job, "A", "1")


def test_an_order_of_nothing_yet_is_asked_about(fresh_home):
    empty = job_book.open_job(title="something with apples")
    found = ask_order(empty.id)
    assert codes(found) == ["pieces", "due", "postage"]
    assert found.asked is None
    assert [point.letter for point in found.points] == ["A", "B", "C"]
    with pytest.raises(JobError, match="add the pieces"):
        answer_order(empty.id, "A", "a dozen aprons")


def test_a_height_said_before_any_design_is_the_next_one(fresh_home, badge):
    opened = job_book.open_job(title="badges")
    job_design.receive_picture(opened.id, badge, name="badge.png")
    assert job_design.wished_height(opened.id) is None
    found = ask_order(opened.id)
    letter = letter_of(found, "height")
    with pytest.raises(LengthError):
        answer_order(opened.id, letter, "rather large")
    answer_order(opened.id, letter, "7 cm")
    assert job_design.wished_height(opened.id) == 70.0
    assert "height" not in codes(list_order_questions(opened.id))


def test_cover_and_postage_are_followed_when_finishing(job):
    cover = "soft cover"
    assert cover in " ".join(finish_job(job.id).checklist)
    found = ask_order(job.id)
    answer_order(job.id, letter_of(found, "cover"), "2")
    answer_order(job.id, letter_of(found, "postage"), "3")
    finishing = finish_job(job.id)
    assert cover not in " ".join(finishing.checklist) + finishing.care
    assert {s.value for s in job_book.read_job(job.id).settled} == {"no", "shop"}


def test_sizes_of_a_line_removed_meanwhile_are_refused(job):
    found = ask_order(job.id)
    job_order.remove_line(job.id, 1)
    with pytest.raises(JobError, match="removed"):
        answer_order(job.id, letter_of(found, "sizes"), "10 M")
