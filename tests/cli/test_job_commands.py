"""The commands that keep records: what they print, answer in JSON, refuse, and how they end."""

from __future__ import annotations

import json
import zipfile
from io import StringIO

import pytest


@pytest.fixture
def shop(run, tmp_path, monkeypatch, pictures):
    """Run commands in a home of their own; ``ask`` gives the JSON answer."""
    monkeypatch.setenv("FIRSTPIECE_HOME", str(tmp_path / "home"))

    def ask(*arguments):
        answer = run(*arguments, "--json")
        assert answer.code in (0, 1), answer.err
        return json.loads(answer.out)

    run.ask = ask
    run.picture = pictures / "badge.png"
    return run


def test_a_job_goes_all_the_way_on_the_command_line(shop, tmp_path):
    assert shop.ask("customer", "new", "Windfall Row", "--consent", "photos")["number"] == 1
    shop.ask("job", "new", "Aprons", "--customer", 1, "--due", "2031-09-01", "--message", "12!")
    shop.ask("job", "add-line", 1, "--on", "apron-natural", "--count", 12, "--name", "Ida")
    made = shop.ask("job", "revise", 1, shop.picture, "--height", "60mm", "--reason", "draft",
                    "--out", tmp_path / "out")  # fmt: skip
    assert made["kind"] == "revision"
    plan = made["prepared"]["plan"]
    assert made["job"]["revisions"][0]["n_stitches"] == plan["n_stitches"]
    assert (tmp_path / "out" / "proof.pdf").is_file()
    shop.ask("job", "question", 1, "which green?")
    assert shop.ask("job", "answer", 1, "the dark one")["answers"] == [
        ["which green?", "the dark one"]]  # fmt: skip
    assert shop.ask("job", "offer", 1, "--until", "2031-06-01")["state"] == "quoted"
    agreed = shop.ask("job", "agree", 1, "--by", "Ida", "--price", "1,200.50")
    assert agreed["agreed"]["price"] == {"amount": "1200.50", "currency": "GBP"}
    for state in ("supplied", "sewing", "done"):
        assert shop.ask("job", "move", 1, state)["state"] == state
    assert shop.ask("job", "reorder", 1)["reorder_of"] == 1

    page = shop("job", "show", 1).out
    for word in ("Aprons", "Windfall Row", "which green?", "apron-natural", "Ida", "done",
                 "£1,200.50", made["job"]["revisions"][0]["plan_id"]):  # fmt: skip
        assert word in page, word
    listed = shop.ask("job", "list")
    assert [j["number"] for j in listed["jobs"]] == [2]
    assert [j["number"] for j in shop.ask("job", "list", "--all")["jobs"]] == [1, 2]
    found = shop.ask("job", "search", "windf", "apr")
    assert [j["number"] for j in found["jobs"]] == [2, 1]
    shown = shop.ask("customer", "show", 1)
    assert len(shown["jobs"]) == 2


def test_show_json_has_log_and_customer(shop):
    shop.ask("job", "new", "caps")
    page = shop.ask("job", "show", 1)
    assert (page["version"], page["kind"]) == (1, "job page")
    assert page["customer"] is None
    assert page["log"][0]["kind"] == "opened"
    assert page["job"]["waiting_for"] == "us: draft the design"


def test_what_a_customer_wrote_is_no_markup(shop):
    shop.ask("job", "new", "[red]caps[/red] [bold", "--message", "[/]")
    for words in (("job", "show", 1), ("job", "list"), ("job", "search", "caps")):
        assert "[red]caps[/red] [bold" in shop(*words).out


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["job", "show", "7"], 3, "there is no job 7"),
        (["customer", "show", "7"], 3, "there is no customer 7"),
        (["job", "new", " "], 3, "has no title"),
        (["job", "new", "x", "--due", "soon"], 3, "--due: “soon” is not a day"),
        (["job", "new", "x", "--picture", "nowhere.png"], 3, "nowhere.png: the picture cannot"),
        (["job", "note", "1", "x", "--seen", "9"], 4, "somebody else changed it"),
        (["job", "agree", "1", "--by", "Ida"], 3, "has no design yet"),
        (["job", "revise", "1"], 3, "the height is missing"),
        (["job", "revise", "1", "--height", "60mm"], 3, "no picture yet"),
        (["job", "add-line", "1", "--on", "toga"], 3, "there is no card “toga”"),
        (["job", "add-line", "1", "--count", "0"], 3, "0 is not a number of pieces"),
        (["job", "move", "1", "done"], 3, "cannot become done"),
        (["job", "offer", "1"], 3, "no lines yet"),
        (["job", "take-up", "1"], 3, "was not dropped"),
        (["job", "import", "nowhere"], 3, "nowhere: there is no table"),
        (["customer", "new", "Ida", "--consent", "cake"], 3, "“cake” is not a kind"),
        (["restore", "nowhere.zip", "--check"], 3, "there is no such backup"),
        (["job", "move", "1", "eaten"], 2, "eaten"),
        (["job", "show", "x"], 2, "not a valid integer"),
        (["job", "sew"], 2, "No such command"),
    ],
)
def test_a_fault_is_one_sentence_and_an_exit_code(shop, arguments, code, words):
    shop.ask("job", "new", "caps")
    answer = shop(*arguments)
    assert answer.code == code
    assert words in answer.err
    assert not answer.out
    if code != 2:
        assert len(answer.err.strip().splitlines()) == 1


def test_a_price_is_a_price(shop):
    shop.ask("job", "new", "caps")
    shop.ask("job", "add-line", 1)
    shop.ask("job", "revise", 1, shop.picture, "--height", "60mm")
    for text in ("much", "-1", "1e99", "NaN", ""):
        answer = shop("job", "agree", 1, "--by", "Ida", "--price", text)
        assert (answer.code, "is not a price" in answer.err) == (3, True), text


def test_tables_and_backups_go_out_and_in(shop, tmp_path, monkeypatch):
    shop.ask("customer", "new", "=cmd()")
    shop.ask("job", "new", "caps", "--customer", 1)
    shop.ask("job", "export", "--out", tmp_path / "tables")
    assert "'=cmd()" in (tmp_path / "tables" / "customers.csv").read_text("utf-8")
    saved = shop.ask("backup", "--out", tmp_path / "b.zip")
    assert saved["manifest"]["n_jobs"] == 1
    assert shop.ask("backup")["file"] in shop.ask("backup", "--list")["files"]

    monkeypatch.setenv("FIRSTPIECE_HOME", str(tmp_path / "other"))
    done = shop.ask("job", "import", tmp_path / "tables")
    assert (done["customers"], done["jobs"]) == ([1], [1])
    assert shop.ask("customer", "show", 1)["name"] == "=cmd()"
    checked = shop.ask("restore", tmp_path / "b.zip", "--check")
    assert checked["checked_only"]
    assert checked["before"] is None
    shop.ask("job", "note", 1, "gone after the restore")
    assert shop.ask("restore", tmp_path / "b.zip", "--yes")["before"]
    assert shop.ask("job", "show", 1)["job"]["notes"] == []


def test_erasing_asks_first(shop, monkeypatch):
    shop.ask("customer", "new", "Ida")
    monkeypatch.setattr("sys.stdin", StringIO("n\n"))
    answer = shop("customer", "erase", 1)
    assert answer.code == 130
    assert "Erase Ida for good?" in answer.err
    assert shop.ask("customer", "show", 1)["name"] == "Ida"
    assert shop.ask("customer", "erase", 1, "--yes")["number"] == 1
    assert shop.ask("customer", "list")["customers"] == []


def test_a_customers_data_is_one_file(shop, tmp_path):
    shop.ask("customer", "new", "Ida", "--notes", "plums")
    made = shop.ask("customer", "export", 1, "--out", tmp_path / "ida.zip")
    with zipfile.ZipFile(made["file"]) as archive:
        assert "plums" in archive.read("customer.json").decode()


def test_how_it_sewed_is_kept_and_found_again(shop):
    shop.ask("job", "new", "Aprons")
    shop.ask("job", "revise", 1, shop.picture, "--height", "50mm", "--on", "apron-natural")
    told = shop.ask("job", "sewn-out", 1, "--minutes", 12.5, "--rating", 4, "--saw", "a small gap",
                    "--change", "more pull", "--photo", shop.picture)  # fmt: skip
    (sewout,) = told["sewouts"]
    assert sewout["plan_id"] == told["revisions"][0]["plan_id"]
    before = shop.ask("job", "sewn-before", "apron-natural")
    assert [s["job"] for s in before["sewouts"]] == [1]
    assert before["sewouts"][0]["sewout"] == sewout
    text = shop("job", "sewn-before", "apron-natural").out
    for words in ("Aprons", "rating 4 of 5, 12.5 min", "cards as today", "seen: a small gap",
                  "next time: more pull", sewout["photos"][0]["hash"][:12]):  # fmt: skip
        assert words in text, words
    assert "a small gap · more pull" in shop("job", "show", 1).out
    assert "yet" in shop("job", "sewn-before", "tee-black").out
    wrong = shop("job", "sewn-out", 1, "--minutes", 12, "--rating", 6, "--saw", "x")
    assert wrong.code == 3
    assert "rating" in wrong.err
    stale = shop("job", "sewn-out", 1, "--minutes", 12, "--rating", 5, "--saw", "x", "--seen", 1)
    assert stale.code == 4


def test_what_is_open_is_asked_by_letter_and_answered(shop, tmp_path):
    shop.ask("job", "new", "Shirts", "--picture", shop.picture)
    shop.ask("job", "add-line", 1, "--on", "tee-black", "--count", 10)
    looked = shop.ask("job", "ask", 1, "--look")
    asked = shop.ask("job", "ask", 1, "--out", tmp_path / "out")
    assert asked["points"] == looked["points"]
    assert asked["job_version"] == looked["job_version"] + 1
    assert (tmp_path / "out" / "questions.txt").read_text("utf-8") == asked["message"]
    letters = {point["code"]: point["letter"] for point in asked["points"]}
    done = shop.ask("job", "answer", 1, letters["sizes"], "4 S, 6 M")
    assert [(line["count"], line["size"]) for line in done["lines"]] == [(4, "S"), (6, "M")]
    done = shop.ask("job", "answer", 1, letters["due"], "2031-09-01")
    assert done["due"] == "2031-09-01"
    wrong = shop("job", "answer", 1, letters["postage"], "7")
    assert wrong.code == 3
    assert "1 to 3" in wrong.err
    assert "postage" in shop("job", "ask", 1, "--look").out
    # Without a height that of the newest design is taken; without a design one is asked for.
    assert "--height" in shop("job", "revise", 1).err
    first = shop.ask("job", "revise", 1, "--height", "50mm")["job"]["revisions"][0]
    assert shop.ask("job", "revise", 1)["job"]["revisions"][1]["height_mm"] == first["height_mm"]
