"""``firstpiece edit`` on a prepared folder: forms, a look, an edit, undo, and what it refuses."""

from __future__ import annotations

import json

import pytest
from tests.cli.conftest import badge_png


@pytest.fixture
def folder(run, tmp_path, monkeypatch):
    monkeypatch.setenv("FIRSTPIECE_HOME", str(tmp_path / "home"))
    (tmp_path / "badge.png").write_bytes(badge_png())
    out = tmp_path / "job"
    assert run("prepare", tmp_path / "badge.png", "--height", "30mm", "--out", out).code == 0
    return out


def test_forms_need_no_folder(run):
    answer = run("edit", "nowhere", "--forms")
    assert answer.code == 0
    assert "thicken AREA by LENGTH" in answer.out


def test_a_folder_is_looked_at_edited_and_undone(run, folder):
    seen = json.loads(run("edit", folder, "--look", "--json").out)
    assert (seen["kind"], len(seen["areas"])) == ("look", 2)
    done = json.loads(run("edit", folder, "ring 2mm in bark; drop 1", "--json").out)
    assert done["kind"] == "edit"
    assert len(done["said"]) == 2
    assert done["log"]["height_mm"] == 30.0
    told = run("edit", folder, "--undo", "1")
    assert told.code == 0
    assert "1 edits are undone." in told.out
    assert "Edit 1: A ring 2.00 mm wide in bark" in run("edit", folder, "--look").out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("drop 99", "there is no area 99"),
        ("thicken 0 by 900mm", "cannot be thickened"),
        ("knit 3", "no edit"),
    ],
)
def test_what_cannot_be_done_ends_with_bad_input(run, folder, words, said):
    answer = run("edit", folder, words)
    assert answer.code == 3
    assert said in answer.err
    assert "Traceback" not in answer.err
