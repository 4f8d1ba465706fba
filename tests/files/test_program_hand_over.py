"""Programs on their way to the machine: SVG runs, manifest, a drive that lies."""

from __future__ import annotations

import hashlib
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.paperwork.jobs import LEAF, POPPY, empty_plan, plan_of, rows

from firstpiece.errors import InputError, OutputError
from firstpiece.files.drive_copy import verify_file, write_verified
from firstpiece.files.program_manifest import (
    differing_files,
    make_manifest,
    read_manifest,
    write_manifest,
)
from firstpiece.files.thread_runs_svg import thread_runs, write_runs_svg

PLAN = plan_of((rows(20.0, 2.0), 0), (rows(6.0, 2.0, x=3.0, y=8.0), 1), threads=(LEAF, POPPY))
SVG = "{http://www.w3.org/2000/svg}"


def test_each_run_is_one_path_of_the_thread_it_is_sewn_with():
    root = ET.fromstring(write_runs_svg(PLAN, title="a <b>"))
    paths = root.findall(f".//{SVG}path")
    assert [p.get("stroke") for p in paths] == [LEAF.hex, POPPY.hex]
    assert root.find(f"{SVG}title").text == "a <b>"
    # An outside path parser measures the thread: the plan's own segments, in mm.
    segments = PLAN.sewn_segments()
    length = np.hypot(*(PLAN.xy_mm[segments] - PLAN.xy_mm[segments - 1]).T).sum()
    found = 0.0
    for path in paths:
        pen = RecordingPen()
        parse_path(path.get("d"), pen)
        points = np.array([args[0] for _name, args in pen.value if args])
        found += np.hypot(*np.diff(points, axis=0).T).sum()
    assert found == pytest.approx(length, rel=1e-3)
    assert root.get("width").endswith("mm")
    assert float(root.get("viewBox").split()[2]) == pytest.approx(float(root.get("width")[:-2]))


def test_runs_are_stitches_without_a_break():
    assert len(thread_runs(empty_plan())) == 0
    runs = thread_runs(PLAN)
    assert [PLAN.is_stitch[a:b].all() for a, b in runs] == [True, True]
    assert write_runs_svg(empty_plan()).count("<path") == 0


CONTENTS = st.dictionaries(
    st.from_regex(r"[a-z]{1,8}\.bin", fullmatch=True), st.binary(max_size=40), min_size=1
)


@settings(deadline=None, max_examples=50)
@given(contents=CONTENTS)
def test_a_manifest_tells_every_change(contents):
    manifest = read_manifest(write_manifest(make_manifest("a design", "12ab34cd", contents)))
    assert differing_files(manifest, contents) == ()
    for name, data in contents.items():
        changed = {**contents, name: data + b"x"}
        assert differing_files(manifest, changed) == (name,)
    entry = manifest.entries[0]
    assert entry.sha256 == hashlib.sha256(contents[entry.name]).hexdigest()


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"version": 2, "files": []}', "nonsense"])
def test_what_is_no_manifest_is_refused(text):
    with pytest.raises(InputError, match="not a manifest"):
        read_manifest(text)


def test_files_are_read_back_after_writing(tmp_path):
    paths = write_verified(tmp_path / "stick", {"a.bin": b"one", "b.bin": b"two"})
    assert [p.read_bytes() for p in paths] == [b"one", b"two"]


def test_a_drive_that_gives_back_other_bytes_is_told(tmp_path, monkeypatch):
    """A worn stick, played by a reader that flips a bit."""
    true_read = Path.read_bytes

    def worn(path):
        data = true_read(path)
        return data[:-1] + bytes([data[-1] ^ 1]) if path.name == "b.bin" else data

    monkeypatch.setattr(Path, "read_bytes", worn)
    with pytest.raises(OutputError, match=r"b\.bin: the drive gives back other bytes"):
        write_verified(tmp_path, {"a.bin": b"one", "b.bin": b"two"})


def test_a_file_that_went_away_is_told(tmp_path):
    with pytest.raises(OutputError, match="other bytes"):
        verify_file(tmp_path / "gone", b"x")
