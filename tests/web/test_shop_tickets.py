"""The ticket screen, held against the shop's tickets and their log, which have their own tests."""

from __future__ import annotations

import re

import pytest
from tests.shop.shop_floor import agreed_job, stocked
from tests.web.pictures import pear_png

from firstpiece.model.ticket import PieceStep
from firstpiece.shop import tickets
from firstpiece.shop.book import open_book
from firstpiece.store.tickets import read_piece_events


def steps(job):
    with open_book().read() as connection:
        return [event.step for event in read_piece_events(connection, job)]


def verdict(answer) -> str:
    (told,) = re.findall(r'<section class="verdict[^>]*><h1>(.*?)</h1>', answer.text)
    return told


@pytest.fixture
def job(page) -> int:
    stocked("tee-white", 9, size="M")
    return agreed_job(pear_png(), ("tee-white", 2, "M", ("Quentin",)))


def test_the_empty_screen_waits_and_a_bad_code_is_told(page):
    assert "The next piece waits for its ticket." in page.get("/tickets").text
    for code in ("", "J1", "apron", "J1L1P1H3F9A1C2DGD0W2V9Q"):
        answer = page.post("/tickets/check", code=code, bag="x", design="y")
        assert answer.status_code == 422
        assert verdict(answer) == "NOT READ"
    assert page.get("/tickets/check").status_code == 405


@pytest.mark.slow
def test_a_piece_goes_is_sewn_is_spoiled_and_goes_again(page, job):
    piece = tickets.list_tickets(job)[0]
    scanned = {"code": piece.code, "bag": "tee-white, M", "design": piece.plan_id}
    go = page.post("/tickets/check", **scanned)
    assert verdict(go) == "SEW"
    assert "<b>Quentin</b>" in go.text
    assert f'name="piece" value="{piece.code}"' in go.text
    # The next piece of the same garment and plan needs its ticket only.
    assert 'name="code" value=""' in go.text
    assert f'name="design" value="{piece.plan_id}"' in go.text
    done = page.post("/tickets/sewn", piece=piece.code, design=piece.plan_id, bag="tee-white, M")
    assert verdict(done) == "SEWN"
    assert "1 of 2 sewn, 0 spoiled" in done.text
    twice = page.post("/tickets/sewn", piece=piece.code)
    assert (twice.status_code, verdict(twice)) == (422, "NOT DONE")
    lost = page.post("/tickets/spoiled", piece=piece.code, cause="pucker", note="at the leaf")
    assert verdict(lost) == "SPOILED"
    assert "0 of 2 sewn, 1 spoiled" in lost.text
    assert verdict(page.post("/tickets/check", **scanned)) == "SEW"
    assert steps(job) == [
        PieceStep.STARTED, PieceStep.SEWN, PieceStep.SPOILED, PieceStep.STARTED]  # fmt: skip


@pytest.mark.slow
def test_what_is_wrong_is_said_large_and_nothing_is_begun(page, job):
    piece = tickets.list_tickets(job)[1]
    for bag, design, told in (
        ("tee-white, L", piece.plan_id, "WRONG SIZE"),
        ("tee-white, M", "0badf00d", "WRONG DESIGN"),
        ("nothing", piece.plan_id, "UNKNOWN GARMENT"),
    ):
        answer = page.post("/tickets/check", code=piece.code, bag=bag, design=design)
        assert verdict(answer) == told
        assert 'class="verdict stop" role="alert"' in answer.text
        assert f'value="{piece.code}"' in answer.text
        assert "/tickets/sewn" not in answer.text
    never = page.post("/tickets/sewn", piece=piece.code)
    assert verdict(never) == "NOT DONE"
    no_cause = page.post("/tickets/spoiled", piece=piece.code, cause="weather")
    assert no_cause.status_code == 422
    foreign = page.post("/tickets/check", form_key="0" * 64, code=piece.code)
    assert foreign.status_code == 403
    assert steps(job) == [PieceStep.REFUSED] * 3


def test_a_photograph_without_codes_is_told(page):
    answer = page.post("/tickets/check", files={"photo": ("bench.png", pear_png())}, design="y")
    assert answer.status_code == 422
    assert verdict(answer) == "NOT READ"
