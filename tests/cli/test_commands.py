"""Every command on a small picture: what it says, what it writes, how it ends."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from io import BytesIO
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from firstpiece.files.stitch_table import read_stitch_csv
from firstpiece.model.stitch import Action

PROGRAM = Path(sys.executable).with_name("firstpiece")

# DESIGN's list of files, with the two pictures beside it.
JOB_FILES = {"stitches.csv", "threads.json", "regions.svg", "plan.json", "forecast.json",
             "quote.json", "proof.png", "proof.pdf", "run-sheet.pdf", "sewout.png",
             "cleaned.png"}  # fmt: skip
EDIT_FILES = {"areas.png", "design.json", "picture.png"}
"""What lets a folder be edited later."""


def names_in(folder: Path) -> set[str]:
    return {p.name for p in folder.iterdir()}


def test_prepare_writes_every_file_and_says_what_matters(run, pictures, tmp_path):
    out = tmp_path / "job"
    answer = run("prepare", pictures / "badge.png", "--height", "60mm", "--on", "tee-white",
                 "--quantity", "12", "--out", out)  # fmt: skip
    assert answer.code == 0
    assert not answer.err
    assert names_in(out) == JOB_FILES | EDIT_FILES
    for words in ("T-shirt, white jersey", "60 × 60 mm", "Round, 120 mm", "each for 12", "min"):
        assert words in answer.out
    for name in JOB_FILES:
        assert name in answer.out

    plan = read_stitch_csv((out / "stitches.csv").read_text(), (out / "threads.json").read_text())
    assert plan.count(Action.END) == 1
    told = json.loads((out / "plan.json").read_text())
    assert told["version"] == 1
    assert told["n_stitches"] == plan.n_stitches
    assert abs(plan.size_mm[1] - 60) < 1.5

    forecast = json.loads((out / "forecast.json").read_text())
    minutes = forecast["sewing_minutes"]
    assert 0 < minutes["p05"] <= minutes["p50"] <= minutes["p95"]
    assert minutes["certainty"] in {"computed", "calibrated", "default"}
    quote = json.loads((out / "quote.json").read_text())["quotes"][0]
    assert quote["quantity"] == 12
    total = sum(float(line["amount"]["amount"]) for line in quote["lines"])
    assert total == pytest.approx(float(quote["net"]["amount"]))

    for name in ("proof.png", "sewout.png", "cleaned.png"):
        pixels = np.asarray(Image.open(out / name).convert("RGB"))
        assert pixels.std() > 5, f"{name} is blank"
    for name in ("proof.pdf", "run-sheet.pdf"):
        document = pypdfium2.PdfDocument((out / name).read_bytes())
        assert len(document) >= 1
        document.close()


def test_cleaned_and_sewn_pictures_lie_on_each_other(run, pictures, tmp_path):
    run("prepare", pictures / "badge.png", "--height", "60mm", "--out", tmp_path / "job")
    cleaned = Image.open(tmp_path / "job" / "cleaned.png").convert("RGB")
    sewn = Image.open(tmp_path / "job" / "sewout.png").convert("RGB")
    assert cleaned.size == sewn.size
    red = [np.asarray(i).astype(int)[..., 0] - np.asarray(i).astype(int)[..., 2] > 60
           for i in (cleaned, sewn)]  # fmt: skip
    both, either = np.logical_and(*red).sum(), np.logical_or(*red).sum()
    assert both / either > 0.9


def test_the_same_command_writes_the_same_bytes(run, pictures, tmp_path, monkeypatch):
    for name in ("one", "two"):
        # A home of its own: the second run must work everything out again.
        monkeypatch.setenv("FIRSTPIECE_HOME", str(tmp_path / f"home-{name}"))
        assert run("prepare", pictures / "badge.png", "--height", "40mm",
                   "--out", tmp_path / name).code == 0  # fmt: skip
    for name in JOB_FILES:
        first, second = (tmp_path / folder / name for folder in ("one", "two"))
        assert first.read_bytes() == second.read_bytes(), name


def test_other_files_of_the_folder_are_left_alone(run, pictures, tmp_path):
    out = tmp_path / "job"
    out.mkdir()
    (out / "notes.txt").write_text("call on Friday")
    (out / "proof.png").write_text("an older one")
    assert run("prepare", pictures / "badge.png", "--height", "40mm", "--out", out).code == 0
    assert (out / "notes.txt").read_text() == "call on Friday"
    assert (out / "proof.png").read_bytes().startswith(b"\x89PNG")
    assert names_in(out) == {*JOB_FILES, *EDIT_FILES, "notes.txt"}


def test_prepare_under_json_is_one_versioned_object(run, pictures):
    answer = run("prepare", pictures / "badge.png", "--height", "40mm", "--json")
    told = json.loads(answer.out)
    assert (told["version"], told["kind"]) == (1, "job")
    assert not answer.err
    assert told["files"] == []
    assert told["plan"]["treatments"][0]["reason"]
    assert all(f["reason"] and f["pin"] for f in told["findings"])
    assert [f["pin"] for f in told["findings"]] == list(range(1, len(told["findings"]) + 1))


def test_a_design_too_large_for_every_hoop_ends_with_1(run, pictures, tmp_path):
    answer = run("prepare", pictures / "badge.png", "--height", "290mm", "--on", "polo-navy",
                 "--out", tmp_path / "job")  # fmt: skip
    assert answer.code == 1
    assert "must be answered before sewing" in answer.out
    assert names_in(tmp_path / "job") == JOB_FILES | EDIT_FILES, "the papers are still written"


def test_options_reach_the_tracing(run, pictures):
    def regions(*options):
        answer = run("prepare", pictures / "badge.png", "--height", "40mm", "--json", *options)
        return json.loads(answer.out)["plan"]

    plain = regions()
    assert len(plain["threads"]) == 2
    assert len(regions("--colors", "1")["threads"]) == 1
    assert len(regions("--bare", "#3e8a3a")["threads"]) == 1
    assert len(regions("--keep-background")["threads"]) == 3
    thin = regions("--thread", "poly-60")
    assert thin["threads"][0]["tex"] < plain["threads"][0]["tex"]


def test_ladder_prints_a_table_and_draws_it(run, pictures, tmp_path):
    out = tmp_path / "ladder"
    answer = run("ladder", pictures / "badge.png", "--heights", "30mm,2in", "--quantities", "1,24",
                 "--out", out)  # fmt: skip
    assert answer.code == 0
    for words in ("30 mm", "50.8 mm", "× 1", "× 24", "£"):
        assert words in answer.out
    assert names_in(out) == {"ladder.png", "ladder.json"}
    told = json.loads((out / "ladder.json").read_text())
    assert [r["height_mm"] for r in told["rungs"]] == [30.0, 50.8]
    each = [[float(q["each"]["amount"]) for q in r["quotes"]] for r in told["rungs"]]
    assert all(one > many for one, many in each), "a larger order costs no more a piece"
    assert told["rungs"][0]["n_stitches"] < told["rungs"][1]["n_stitches"]


def test_ladder_under_json(run, pictures):
    answer = run("ladder", pictures / "badge.png", "--heights", "30mm", "--quantities", "1",
                 "--json")  # fmt: skip
    told = json.loads(answer.out)
    assert (told["version"], told["kind"]) == (1, "ladder")
    assert not answer.err


def test_ladder_plans_what_prepare_plans(run, pictures):
    ladder = json.loads(run("ladder", pictures / "badge.png", "--heights", "35mm",
                            "--quantities", "7", "--json").out)  # fmt: skip
    job = json.loads(run("prepare", pictures / "badge.png", "--height", "35mm", "--quantity", "7",
                         "--json").out)  # fmt: skip
    assert ladder["rungs"][0]["quotes"][0] == job["quote"]


def test_ask_gives_a_message_and_a_lettered_picture(run, pictures, tmp_path):
    from PIL import ImageDraw

    image = Image.open(BytesIO((pictures / "badge.png").read_bytes()))
    ImageDraw.Draw(image).ellipse((100, 40, 140, 80), fill="white")
    image.save(pictures / "window.png")
    out = tmp_path / "ask"
    answer = run("ask", pictures / "window.png", "--height", "60mm", "--out", out)
    assert answer.code == 0
    assert "A." in answer.out
    assert names_in(out) == {"questions.txt", "questions.png"}
    assert (out / "questions.txt").read_text().strip() in answer.out
    told = json.loads(run("ask", pictures / "window.png", "--json").out)
    assert (told["version"], told["kind"]) == (1, "questions")
    assert told["questions"][0]["letter"] == "A"
    assert len(told["questions"][0]["choices"]) >= 2


def test_cards_lists_what_on_takes(run):
    told = json.loads(run("cards", "garments", "--json").out)
    assert (told["version"], told["kind"]) == (1, "cards")
    assert sum(card["is_default"] for card in told["cards"]) == 1
    text = run("cards").out
    for card in told["cards"]:
        assert card["name"] in text
    assert "poly-60" in text


def test_the_shops_own_card_adds_to_the_shipped_ones(run, tmp_path, monkeypatch):
    cards = tmp_path / "home" / "cards"
    cards.mkdir(parents=True)
    (cards / "hoops.toml").write_text(
        '[tiny]\nlabel = "Tiny, 60 mm"\nwidth_mm = 60\nheight_mm = 60\nmargin_mm = 5\n'
    )
    monkeypatch.setenv("FIRSTPIECE_HOME", str(tmp_path / "home"))
    text = run("cards", "hoops").out
    assert "Tiny, 60 mm" in text
    assert "round-120" in text


def test_doctor_finds_this_computer_well(run):
    answer = run("doctor")
    assert answer.code == 0, answer.out
    told = json.loads(run("doctor", "--json").out)
    assert told["is_well"]
    assert {c["name"] for c in told["checks"]} >= {"Python", "SQLite", "fonts", "cards"}


def test_doctor_says_what_is_not_well(run, tmp_path, monkeypatch):
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv("FIRSTPIECE_HOME", str(tmp_path / "file" / "home"))
    answer = run("doctor")
    assert answer.code == 1
    assert "set FIRSTPIECE_HOME to a folder that can be written to" in answer.out


@pytest.mark.slow
def test_demo_makes_everything_and_tells_it(run, tmp_path):
    out = tmp_path / "demo"
    answer = run("demo", "--out", out)
    assert answer.code == 0
    assert names_in(out) == {*JOB_FILES, "ladder.png", "ladder.json", "questions.png",
                             "questions.txt", "windfall-row.jpg"}  # fmt: skip
    assert max(len(line.rstrip()) for line in answer.out.splitlines()) <= 100
    for words in ("Stitches", "Sewing", "Thread", "Price", "× 48", str(out / "proof.png")):
        assert words in answer.out
    told = json.loads(run("demo", "--out", out, "--json").out)
    assert (told["version"], told["kind"]) == (1, "demo")
    assert len(told["ladder"]["rungs"]) == 3


@pytest.mark.slow
def test_ctrl_c_leaves_nothing_half_written(pictures, tmp_path):
    out = tmp_path / "job"
    home = {**os.environ, "FIRSTPIECE_HOME": str(tmp_path / "home")}
    work = subprocess.Popen(
        [PROGRAM, "prepare", pictures / "badge.png", "--height", "200mm", "--out", out],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=home,
    )  # fmt: skip
    database = tmp_path / "home" / "results.sqlite"
    deadline = time.monotonic() + 30
    while not database.exists() and time.monotonic() < deadline:
        time.sleep(0.02)
    work.send_signal(signal.SIGINT)
    said, told = work.communicate(timeout=30)
    assert work.returncode == 130
    assert told.strip() == "Stopped; nothing was written."
    assert not said
    assert not out.exists()
