"""Remedies priced and applied, and set-ups compared, from the command line."""

from __future__ import annotations

import json

from firstpiece.shop.demo_picture import draw_demo_picture

JOB = ("--height", "60mm", "--on", "tee-black")


def test_remedies_are_priced_and_a_mark_applies_one(run, tmp_path):
    emblem = tmp_path / "emblem.png"
    emblem.write_bytes(draw_demo_picture())
    job = ("--height", "90mm", "--on", "tee-black")
    answer = run("remedies", emblem, *job, "--json")
    assert answer.code == 0, answer.err
    findings = json.loads(answer.out)["findings"]
    planned = [r for f in findings for r in f["remedies"] if not r["by_hand"] and r["stitches"]]
    assert planned, findings
    before = json.loads(run("prepare", emblem, *job, "--json").out)
    one = planned[0]
    after = json.loads(run("prepare", emblem, *job, "--mend", one["mark"], "--json").out)
    difference = after["forecast"]["n_stitches"] - before["forecast"]["n_stitches"]
    assert difference == one["stitches"]


def test_remedies_read_as_text(run, pictures):
    answer = run("remedies", pictures / "badge.png", *JOB)
    assert answer.code == 0
    assert "--mend" in answer.out
    assert "a  " in answer.out


def test_marks_and_findings_that_do_not_exist(run, pictures):
    for arguments in (("prepare", "--mend", "99"), ("prepare", "--mend", "x"),
                      ("remedies", "--finding", "99")):  # fmt: skip
        answer = run(arguments[0], pictures / "badge.png", *JOB, *arguments[1:])
        assert answer.code == 3
        assert "finding" in answer.err


def test_set_ups_side_by_side(run, pictures):
    arguments = ("compare", pictures / "badge.png", *JOB, "--against", "on=tee-white",
                 "--against", "thread=poly-60 height=70mm")  # fmt: skip
    told = json.loads(run(*arguments, "--json").out)
    assert [s["garment"] for s in told["setups"]] == ["tee-black", "tee-white", "tee-black"]
    assert [s["height_mm"] for s in told["setups"]] == [60.0, 60.0, 70.0]
    assert told["setups"][2]["thread"] == "poly-60"
    text = run(*arguments)
    assert text.code == 0
    assert "stitches" in text.out
    assert "swatch" in text.out


def test_changes_that_are_not_understood(run, pictures):
    for change in ("on", "color=red", "height=12"):
        answer = run("compare", pictures / "badge.png", *JOB, "--against", change)
        assert answer.code == 3
    alone = run("compare", pictures / "badge.png", *JOB)
    assert alone.code == 3
    assert "compared" in alone.err


def test_colours_that_read_come_first(run):
    told = json.loads(run("colors", "--on", "tee-black", "--json").out)
    rows = told["colors"]
    assert [r["contrast"] for r in rows] == sorted((r["contrast"] for r in rows), reverse=True)
    assert rows[0]["name"] == "chalk white"
    assert rows[0]["reads_small"]
    assert not rows[-1]["reads_large"]
    loose = json.loads(run("colors", "--on", "tee-black", "--tolerance", "9", "--json").out)
    by_name = {r["name"]: r["row_spacing_mm"] for r in loose["colors"]}
    assert by_name["chalk white"] > rows[0]["row_spacing_mm"]
    text = run("colors", "--on", "tee-black").out
    assert "do not read" in text
    assert run("colors", "--tolerance", "0").code == 3


def test_the_whole_forecast(run, pictures, tmp_path):
    arguments = ("forecast", pictures / "badge.png", *JOB, "--quantity", "12")
    answer = run(*arguments, "--out", tmp_path / "maps", "--json")
    assert answer.code in (0, 1), answer.err
    told = json.loads(answer.out)
    assert told["kind"] == "forecast"
    assert told["order"]["quantity"] == 12
    assert {"layers.json", "map-cover.png"} <= {p.name for p in (tmp_path / "maps").iterdir()}
    text = run(*arguments)
    assert "Not known without a sewn swatch" in text.out
    assert "12 pieces" in text.out


def test_another_needle_side_by_side(run, pictures):
    arguments = ("compare", pictures / "badge.png", *JOB)
    told = json.loads(run(*arguments, "--against", "needle=65", "--json").out)
    assert [s["needle"] for s in told["setups"]] == [75, 65]
    assert run(*arguments, "--against", "needle=thin").code == 3
    assert run(*arguments, "--against", "needle=7").code == 3
