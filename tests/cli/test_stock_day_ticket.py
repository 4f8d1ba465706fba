"""``stock``, ``day`` and ``ticket`` as a person types them: answers, exit codes, sentences."""

from __future__ import annotations

import json

import pypdfium2
import pytest
from tests.cli.conftest import badge_png


@pytest.fixture
def shop(run, tmp_path, monkeypatch):
    """Give an empty shop, and a way to ask for JSON."""
    monkeypatch.setenv("FIRSTPIECE_HOME", str(tmp_path / "home"))

    def ask(*arguments, code=0):
        answer = run(*arguments, "--json")
        assert answer.code == code, answer.err + answer.out
        return json.loads(answer.out)

    return ask


@pytest.fixture
def agreed(shop, run, tmp_path):
    """Give a job of three aprons and two shirts that is agreed."""
    picture = tmp_path / "badge.png"
    picture.write_bytes(badge_png())
    for words in (
        ("job", "new", "Harvest aprons", "--due", "2031-09-05"),
        ("job", "add-line", 1, "--on", "apron-natural", "--count", 3),
        ("job", "add-line", 1, "--on", "tee-white", "--count", 2, "--size", "M"),
        ("job", "revise", 1, picture, "--height", "50mm"),
        ("job", "offer", 1),
        ("job", "agree", 1, "--by", "Ida"),
        ("stock", "supplier", "the mill", "--days", 5, "--order-cost", "6"),
        ("stock", "add", "blank", "apron-natural", "--supplier", "the mill"),
        ("stock", "add", "blank", "tee-white", "--size", "M", "--supplier", "the mill",
         "--pack", 6, "--each", "3.10"),
        ("stock", "receive", 1, 5, "--place", "A1"),
    ):  # fmt: skip
        answer = run(*words)
        assert answer.code == 0, answer.err
    return 1


def test_stock_from_the_list_to_the_shelf(agreed, shop, run, tmp_path):
    listed = shop("stock", "list")
    assert [(i["label"], i["count"]) for i in listed["items"]] == [
        ("apron-natural, natural", 5), ("tee-white, white, M", 0)]  # fmt: skip
    need = shop("stock", "need")
    assert [(s["need"]["key"]["name"], s["missing"]) for s in need["shortages"]] == [
        ("tee-white", 2)]  # fmt: skip
    (written,) = shop("stock", "buy", "--out", tmp_path / "buy", "--paper", "Letter")["files"]
    sheet = pypdfium2.PdfDocument(written)
    text = sheet[0].get_textpage().get_text_bounded()
    assert sheet[0].get_width() == 612.0
    sheet.close()
    for words in ("Buying list", "the mill", "tee-white, white, M", "6 (1 × 6)", "£18.60", "job 1"):
        assert words in text
    (order,) = shop("stock", "buy", "--bought", "the mill")["orders"]
    assert (order["lines"][0]["packs"], order["total"]["amount"]) == (1, "18.60")
    assert shop("stock", "receive", 2, 6)["count"] == 6
    assert len(shop("stock", "take", agreed)["movements"]) == 2
    text = run("stock", "show", 1)
    assert "taken · job 1" in text.out
    assert "−3" in text.out
    assert "No open job needs anything more." in run("stock", "need").out


def test_what_nobody_is_known_to_sell_stands_on_the_buying_list_too(agreed, shop, run, tmp_path):
    picture = tmp_path / "badge.png"
    for words in (
        ("job", "new", "Small shirts"),
        ("job", "add-line", agreed + 1, "--on", "tee-white", "--count", 7, "--size", "XS"),
        ("job", "revise", agreed + 1, picture, "--height", "50mm"),
        ("job", "offer", agreed + 1),
    ):
        assert run(*words).code == 0
    listed = shop("stock", "buy", "--with-offers", "--out", tmp_path)
    (short,) = listed["unlisted"]
    assert (short["need"]["key"]["size"], short["missing"]) == ("XS", 7)
    sheet = pypdfium2.PdfDocument(listed["files"][0])
    text = sheet[0].get_textpage().get_text_bounded()
    sheet.close()
    assert "No supplier known yet" in text
    assert "tee-white, white, XS" in text
    assert "no supplier is known" in run("stock", "buy", "--with-offers").out


def test_a_count_without_a_reason_is_bad_input(agreed, run):
    answer = run("stock", "count", 1, 4)
    assert answer.code == 3
    assert "say why" in answer.err
    assert run("stock", "count", 1, 4, "--because", "one had a hole").code == 0


def test_the_day_waits_and_then_sews(agreed, shop, run, tmp_path):
    day = shop("day", "--date", "2031-09-01")
    assert [w["job"] for w in day["waiting"]] == [agreed]
    shop("stock", "receive", 2, 6)
    day = shop("day", "--date", "2031-09-01", "--out", tmp_path / "out")
    (slot,) = day["heads"][0]["slots"]
    assert (slot["job"], slot["pieces"], slot["late_minutes"]) == (agreed, 5, 0.0)
    assert slot["begins"].startswith("2031-09-01T09:")
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == ["day.pdf", "day.png"]
    late = run("day", "--date", "2031-09-08")
    assert late.code == 1
    assert "LATE: job 1" in late.out


def test_a_piece_from_ticket_to_parcel(agreed, shop, run, tmp_path):
    made = shop("ticket", "make", agreed, "--out", tmp_path / "out")["tickets"]
    assert (tmp_path / "out" / "tickets-1.pdf").read_bytes().startswith(b"%PDF-")
    code, plan = made[0]["code"], made[0]["plan_id"]
    wrong = run("ticket", "check", code, "--bag", "apron-natural", "--design", "00000000")
    assert wrong.code == 1
    assert "WRONG DESIGN: the machine has plan 00000000 loaded" in wrong.out
    assert "██" in wrong.out  # large letters
    right = shop("ticket", "check", code, "--bag", "apron-natural", "--design", plan)
    assert right["agrees"]
    assert shop("ticket", "sewn", code)["n_sewn"] == 1
    lost = shop("ticket", "spoil", code, "--cause", "stain", "--note", "oil")
    assert (lost["n_sewn"], lost["n_spoiled"]) == (0, 1)
    finish = shop("ticket", "finish", agreed, code=1)
    assert finish["pack_list"][0]["spoiled"] == 1
    assert run("ticket", "check", code[:-1] + "#", "--design", plan).code == 3


def test_a_photograph_of_the_ticket_is_enough(agreed, shop, run, tmp_path):
    from firstpiece.files.pdf import rasterise_pdf
    from firstpiece.files.picture import write_png

    made = shop("ticket", "make", agreed, "--line", 2, "--out", tmp_path)["tickets"]
    page = rasterise_pdf((tmp_path / "tickets-1.pdf").read_bytes(), dpi=200)[0]
    photo = tmp_path / "photo.png"
    photo.write_bytes(write_png(page[:460, :830]))  # the first slip alone
    found = shop("ticket", "check", "--photo", photo, "--bag", "tee-white, M",
                 "--design", made[0]["plan_id"])  # fmt: skip
    assert found["agrees"]
    assert found["ticket"]["code"] == made[0]["code"]
    photo.write_bytes(badge_png())
    blind = run("ticket", "check", "--photo", photo, "--design", "00000000")
    assert blind.code == 3
    assert "no code can be read" in blind.err


def test_a_substitute_is_asked_and_answered(agreed, shop):
    shop("stock", "add", "blank", "tee-heather", "--color", "white", "--size", "M")
    asked = shop("stock", "substitute", agreed, 2, 3)
    assert asked["consent"] == "asked"
    assert asked["message"].endswith("Please answer yes or no.")
    assert shop("stock", "substitute", agreed, 2, 3, "--yes")["consent"] == "given"


def test_labels_are_written(agreed, shop, tmp_path):
    (file,) = shop("stock", "labels", "--out", tmp_path)["files"]
    assert file.endswith("bag-labels.pdf")
