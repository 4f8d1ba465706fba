"""``export``, ``read``, ``layout`` and ``papers`` as a person runs them."""

from __future__ import annotations

import json

import pytest
from tests.paperwork.jobs import LEAF, POPPY, plan_of, rows

from firstpiece.files.stitch_table import write_stitch_csv, write_threads_json

PLAN = plan_of((rows(20.0, 8.0), 0), (rows(12.0, 6.0, y=12.0), 1), threads=(LEAF, POPPY))


@pytest.fixture
def folder(tmp_path):
    place = tmp_path / "apron"
    place.mkdir()
    (place / "stitches.csv").write_text(write_stitch_csv(PLAN), "utf-8")
    (place / "threads.json").write_text(write_threads_json(PLAN), "utf-8")
    return place


def test_a_layout_is_begun_checked_and_used(run, folder, tmp_path):
    layout = tmp_path / "ours.toml"
    assert run("layout", "new", layout).code == 0
    again = run("layout", "new", layout)
    assert again.code == 3
    assert "there is such a file already" in again.err
    checked = run("layout", "check", layout)
    assert checked.code == 0
    assert "53 54 41 52 54" in checked.out
    made = run("export", folder, "--as", f"records:{layout}", "--out", tmp_path / "stick", "--json")
    told = json.loads(made.out)
    assert told["plan_id"] == PLAN.content_id()
    (name,) = (f["name"] for f in told["files"])
    back = run("read", tmp_path / "stick" / name, "--as", f"records:{layout}", "--json")
    design = json.loads(back.out)
    assert back.code in (0, 1)
    assert design["plan"]["n_stitches"] == PLAN.n_stitches


def test_faults_of_a_layout_are_told_with_their_lines(run, tmp_path):
    layout = tmp_path / "ours.toml"
    run("layout", "new", layout)
    lines = layout.read_text("utf-8").splitlines()
    broken = next(i for i, line in enumerate(lines) if line.startswith("pattern"))
    lines[broken] = 'pattern = "0xxxxxxx 0yyyyyy"'
    layout.write_text("\n".join(lines), "utf-8")
    told = run("layout", "check", layout)
    assert told.code == 3
    assert f"line {broken + 1}: 15 bits do not make whole bytes" in told.out
    faults = json.loads(run("layout", "check", layout, "--json").out)["faults"]
    assert [f["where"] for f in faults] == [f"ours.toml, line {broken + 1}"]


@pytest.mark.parametrize("kind", ["motion", "csv", "svg"])
def test_every_open_way_out_is_written_with_its_manifest(run, folder, tmp_path, kind):
    answer = run("export", folder, "--as", kind, "--out", tmp_path / "out")
    assert answer.code == 0
    written = answer.out.split()
    assert any(name.endswith(".manifest.json") for name in written)
    assert all(PLAN.content_id() in name for name in written)


def test_reading_writes_the_files_of_a_job(run, folder, tmp_path):
    out = tmp_path / "again"
    answer = run("read", folder / "stitches.csv", "--on", "apron-natural", "--out", out)
    assert answer.code in (0, 1)
    names = {p.name for p in out.iterdir()}
    assert {"stitches.csv", "threads.json", "regions.svg", "plan.json", "forecast.json",
            "quote.json", "proof.pdf", "run-sheet.pdf", "template.pdf"} == names  # fmt: skip
    assert "leaf green, poppy" in answer.out
    assert "2 fill" in answer.out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("export", "nowhere", "--as", "csv"), "no stitches.csv"),
        (("export", "{folder}", "--as", "laser"), "“laser” is not a way out"),
        (("export", "{folder}", "--as", "csv", "--colorway", "dusk"), "only a job has colourways"),
        (("export", "{folder}", "--as", "motion", "--needle-word", "30"), "must differ"),
        (("export", "{folder}", "--as", "csv", "--hoop", "nothing"), "nothing"),
        (("export", "77", "--as", "csv"), "77"),
        (("read", "{folder}/gone.csv"), "cannot be opened"),
        (("read", "{folder}/stitches.csv", "--as", "laser"), "“laser” is not a way in"),
        (("papers", "77"), "77"),
    ],
)
def test_bad_input_is_one_sentence(run, folder, monkeypatch, arguments, words):
    monkeypatch.setenv("FIRSTPIECE_HOME", str(folder.parent / "home"))
    answer = run(*(a.format(folder=folder) for a in arguments))
    assert answer.code == 3
    assert words in answer.err
    assert answer.err.count("\n") == 1
