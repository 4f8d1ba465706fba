"""Out and back in: export, hand-over, reading back, layouts step by step."""

from __future__ import annotations

import json
import time
from collections import Counter
from importlib.resources import files as package_files
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.paperwork.jobs import LEAF, POPPY, plan_of, rows, turned

from firstpiece.errors import InputError, LayoutError
from firstpiece.files.motion_program import MotionWords
from firstpiece.files.stitch_table import write_stitch_csv, write_threads_json
from firstpiece.model.region import region_faults
from firstpiece.model.stitch import Action, Role, StitchPlan, StitchType
from firstpiece.shop.export import ExportManner, export_design, open_source
from firstpiece.shop.hand_over import DesignMark, check_folder, file_stem, hand_over
from firstpiece.shop.layout_guide import (
    LayoutDraft,
    layout_template,
    view_draft,
    view_layout,
    write_draft,
)
from firstpiece.shop.reading_back import StitchFile, read_back, read_stitches
from firstpiece.shop.stitched_areas import guess_areas

LAYOUTS = sorted(
    Path(str(package_files("firstpiece") / "data" / "layouts")).glob("*.toml"), key=str
)


def satin(width, length, spacing=0.4, x=0.0, y=0.0):
    """A level column of satin: there and back across its width."""
    n = int(length / spacing)
    along = np.linspace(-length / 2, length / 2, 2 * n)
    side = np.where(np.arange(2 * n) % 2 == 0, -width / 2, width / 2)
    return np.column_stack([x + along, y + side])


FILL = rows(24.0, 16.0, y=-14.0)
COLUMN = satin(4.0, 30.0, y=8.0)
LINE = np.column_stack([np.linspace(-15, 15, 13), np.full(13, 18.0)])
UNDER = np.column_stack([np.linspace(-14, 14, 12), np.full(12, 8.0)])
PLAN = plan_of((FILL, 0), (np.concatenate([UNDER, COLUMN]), 1), (LINE, 0), threads=(LEAF, POPPY))


@pytest.fixture
def folder(tmp_path):
    place = tmp_path / "Windfall Row"
    place.mkdir()
    (place / "stitches.csv").write_text(write_stitch_csv(PLAN), "utf-8")
    (place / "threads.json").write_text(write_threads_json(PLAN), "utf-8")
    return place


def test_a_folder_keeps_its_plan_hash(folder):
    """The hash on the run sheet is that of the program made from the written list."""
    assert open_source(str(folder)).mark.plan_id == PLAN.content_id()


@pytest.mark.parametrize("kind", ["motion", "csv", *(f"records:{p}" for p in LAYOUTS)])
def test_every_way_out_is_a_way_in(folder, kind):
    source = open_source(str(folder))
    made = export_design(source, ExportManner(kind))
    (name, data), *_rest = made.items()
    layout = Path(kind.removeprefix("records:")).read_text("utf-8") if ":" in kind else ""
    found = read_stitches(StitchFile(data, name, layout=layout))
    keep, want = found.action != Action.JUMP, PLAN.action != Action.JUMP
    assert found.action[keep].tolist() == PLAN.action[want].tolist()
    assert np.abs(found.xy_mm[keep] - PLAN.xy_mm[want]).max() <= 0.1 + 0.005 + 1e-9
    assert PLAN.content_id() in name


def test_svg_is_a_way_out(folder):
    ((name, data),) = export_design(open_source(str(folder)), ExportManner("svg")).items()
    assert name.endswith(".svg")
    assert data.count(b"<path") == 3


def test_colours_of_a_motion_program_come_back(folder):
    made = export_design(open_source(str(folder)), ExportManner("motion"))
    found = read_stitches(StitchFile(next(iter(made.values())), "a.nc"))
    assert [(t.name, t.rgb) for t in found.threads] == [(t.name, t.rgb) for t in (LEAF, POPPY)]


def test_the_shop_chooses_its_words(folder):
    words = MotionWords(needle_word=70, trim_word=71, change_word=60, stop_word=1)
    made = export_design(open_source(str(folder)), ExportManner("motion", words))
    text = next(iter(made.values())).decode()
    assert "T1 M60" not in text.splitlines()[0]
    assert text.count(" M70") == PLAN.n_stitches
    back = read_stitches(StitchFile(text.encode(), "a.nc", "motion", words=words))
    assert back.action.tolist() == PLAN.action.tolist()


def test_a_hoop_that_is_too_small_is_refused_with_those_that_clear(folder):
    wide = plan_of((rows(150.0, 30.0), 0), threads=(LEAF,))
    (folder / "stitches.csv").write_text(write_stitch_csv(wide), "utf-8")
    (folder / "threads.json").write_text(write_threads_json(wide), "utf-8")
    source = open_source(str(folder))
    assert export_design(source, ExportManner("csv", hoop="square-240"))
    with pytest.raises(InputError, match="use one that clears: round-180, square-240"):
        export_design(source, ExportManner("csv", hoop="round-120"))


@pytest.mark.parametrize(
    ("source", "kind", "words"),
    [
        ("nowhere", "csv", "there is no stitches.csv"),
        ("", "laser", "“laser” is not a way out"),
        ("", "records:none.toml", "the layout cannot be read"),
    ],
)
def test_bad_requests_are_told(folder, source, kind, words):
    with pytest.raises(InputError, match=words):
        export_design(open_source(source or str(folder)), ExportManner(kind))


@pytest.mark.parametrize(
    ("mark", "stem"),
    [
        (DesignMark("Jürgens Äpfel & Co.", "12ab34cd", 90.2, 2, "im Herbst"),
         "jurgens-apfel-co-r2-90mm-im-herbst-12ab34cd"),
        (DesignMark("../../etc/passwd", "12ab34cd", 90.0), "etc-passwd-90mm-12ab34cd"),
        (DesignMark("בוסתן", "12ab34cd", 90.0), "design-90mm-12ab34cd"),
        (DesignMark("con", "12ab34cd", 90.0), "xcon-90mm-12ab34cd"),
        (DesignMark("w" * 300, "12ab34cd", 90.0), "w" * 51 + "-12ab34cd"),
    ],
)  # fmt: skip
def test_names_are_safe_on_any_drive(mark, stem):
    assert file_stem(mark) == stem


def test_what_is_handed_over_can_be_checked(tmp_path):
    mark = DesignMark("orchard", "12ab34cd", 90.0)
    done = hand_over(tmp_path, {"orchard.nc": b"M30"}, mark)
    manifest = tmp_path / "orchard.nc.manifest.json"
    assert manifest in done.paths
    assert check_folder(manifest).plan_id == "12ab34cd"
    assert json.loads(manifest.read_text("utf-8"))["files"][0]["bytes"] == 3
    (tmp_path / "orchard.nc").write_bytes(b"M02")
    with pytest.raises(InputError, match=r"orchard\.nc is missing or not what was handed over"):
        check_folder(manifest)


def file_of(plan):
    return StitchFile(
        write_stitch_csv(plan).encode(), "a.csv", threads_json=write_threads_json(plan)
    )


def test_areas_and_their_kinds_are_guessed():
    """A fill, a satin column over its underlay, and a line: three areas, told by how they turn."""
    done = read_back(file_of(PLAN), garment="apron-natural")
    kinds = Counter(t.stitch_type for t in done.plan.treatments)
    assert kinds == {StitchType.FILL: 1, StitchType.SATIN: 1, StitchType.RUNNING: 1}
    assert region_faults(done.region_map) == ()
    by_kind = {t.stitch_type: t for t in done.plan.treatments}
    areas = {r.id: r.polygon.area for r in done.region_map.regions}
    # Rows 0.38 mm apart over 24 × 16 mm; a column 4 mm wide, 30 mm long, 0.4 mm a there-and-back.
    assert areas[by_kind[StitchType.FILL].region_id] == pytest.approx(24.4 * 16.4, rel=0.05)
    assert areas[by_kind[StitchType.SATIN].region_id] == pytest.approx(30.4 * 4.4, rel=0.08)
    assert by_kind[StitchType.FILL].spacing_mm == pytest.approx(0.38, rel=0.1)
    assert by_kind[StitchType.SATIN].spacing_mm == pytest.approx(0.4, rel=0.15)
    assert abs(np.sin(by_kind[StitchType.FILL].angle_rad)) < 0.05
    under = done.plan.role == Role.UNDERLAY
    assert under.sum() == pytest.approx(len(UNDER), abs=6)
    assert done.quote.n_stitches == PLAN.n_stitches


def test_reading_back_does_not_depend_on_direction():
    turned_plan = plan_of((turned(FILL, 0.7), 0), (turned(COLUMN, 0.7), 1), threads=(LEAF, POPPY))
    done = read_back(file_of(turned_plan), garment="apron-natural")
    assert [t.stitch_type for t in done.plan.treatments] == [StitchType.FILL, StitchType.SATIN]
    assert done.plan.treatments[0].angle_rad == pytest.approx(0.7, abs=0.05)


@pytest.mark.parametrize(
    ("data", "kind", "words"),
    [
        (b"hello", "", "neither a stitch list nor a motion program"),
        (b"x_mm,y_mm,action,thread\n0,0,end,0\n", "", "there is no stitch in this file"),
        (b"\xff\xfe", "csv", "breaks off at byte 0"),
        (b"%\nG02 X1\n", "", "line 2: G02"),
    ],
)
def test_files_that_hold_no_design_are_told(data, kind, words):
    with pytest.raises(InputError, match=words):
        read_back(StitchFile(data, "a.bin", kind))


def test_the_template_works_as_it_stands_and_shows_its_bytes():
    view = view_layout(layout_template())
    assert view.faults == ()
    assert b"".join(g.data for g in view.groups)[:5] == b"START"
    offsets = [g.offset for g in view.groups]
    assert offsets == sorted(offsets)
    ends = [g.offset + len(g.data) for g in view.groups]
    assert ends[:-1] == offsets[1:]


def test_a_draft_becomes_a_layout_and_its_faults_have_lines():
    head = {"step_mm": 0.1, "y": "down", "name": "ours", "x": ""}
    records = [
        {"action": "stitch", "pattern": "0xxxxxxx 0yyyyyyy"},
        {"action": "end", "pattern": "11111111"},
    ]
    view = view_draft(LayoutDraft(head, records))
    assert view.faults == ()
    assert [g.meaning.split()[0] for g in view.groups][-1] == "end"
    records[0]["pattern"] = "0xxxxxxx 0yyyyyy"
    view = view_draft(LayoutDraft(head, records))
    (fault,) = view.faults
    line = int(fault.where.rsplit(" ", 1)[1])
    assert write_draft(LayoutDraft(head, records)).splitlines()[line - 1].startswith("pattern")


def test_a_field_too_small_for_the_sample_says_so():
    text = "[layout]\nstep_mm = 0.1\n[[record]]\naction = 'stitch'\npattern = '0xxx0yyy'\n"
    assert view_layout(text).faults == ()
    field = "[[footer]]\nvalue = 'file_bytes'\nbytes = 1\nform = 'text'\n"
    (fault,) = view_layout(text + "\n" + field * 3).faults
    assert isinstance(fault, LayoutError)
    assert "does not fit 1 bytes" in str(fault)


@settings(max_examples=150, deadline=None)
@given(data=st.binary(max_size=200), kind=st.sampled_from(["", "csv", "motion", "records"]))
def test_any_bytes_are_read_or_refused_in_words(data, kind):
    layout = LAYOUTS[0].read_text("utf-8") if kind == "records" else ""
    said = ""
    try:
        read_stitches(StitchFile(data, "a.bin", kind, layout=layout))
    except InputError as fault:
        said = str(fault)
    assert said == "" or said.endswith(".")


NUMBERS = st.sampled_from(["0", "-3.5", "1e3", "1e308", "nan", "", "x", "2.25"])
ROWS = st.tuples(NUMBERS, NUMBERS, st.sampled_from([*[a.word for a in Action], "nap"]),
    st.sampled_from(["0", "1", "-1", "99999", "x"]))  # fmt: skip


@settings(max_examples=100, deadline=None)
@given(table=st.lists(ROWS, max_size=12))
def test_any_stitch_list_becomes_a_design_or_is_refused(table):
    """Places as far as floats go, threads that do not exist: no crash, no huge picture."""
    text = "x_mm,y_mm,action,thread\n" + "\n".join(",".join(row) for row in table)
    said = ""
    try:
        done = read_back(StitchFile(text.encode(), "a.csv"), garment="apron-natural")
        assert max(done.size_mm) <= 1001.0
    except InputError as fault:
        said = str(fault)
    assert said == "" or said.endswith(".")


def test_thousands_of_small_pieces_stay_small():
    """1,000 short runs, far apart: each its own area or a part of one, within seconds."""
    rng = np.random.default_rng(3)
    runs = [
        (rng.uniform(-200, 200, 2) + np.cumsum(rng.normal(0, 0.8, (5, 2)), axis=0), i % 2)
        for i in range(1000)
    ]
    plan, region_map = guess_areas(plan_of(*runs, threads=(LEAF, POPPY)), thread_mm=0.4)
    assert 500 < len(region_map.regions) <= 1200
    assert set(plan.region_id[plan.region_id >= 0]) <= {r.id for r in region_map.regions}


def random_plan(rng, n, manner):
    """Stitches at random: over a metre, as parallel slanting lines, or in thousands of specks."""
    if manner == "over a metre":
        xy = rng.uniform(-490, 490, (n, 2))
    elif manner == "slanting lines":
        line, place = np.divmod(np.arange(n), 3)
        xy = line[:, None] * [0.9, 0.0] + (place == 2)[:, None] * [60.0, 150.0]
    else:
        xy = np.repeat(rng.uniform(-200, 200, (n, 2)), 4, axis=0)[:n] + rng.normal(0, 0.8, (n, 2))
    action = np.full(n, int(Action.STITCH), dtype=np.uint8)
    if manner != "over a metre":
        action[:: 3 if manner == "slanting lines" else 4] = Action.JUMP
    action[-1] = Action.END
    return StitchPlan(xy, action, np.sort(rng.integers(0, 2, n)).astype(np.int16),
        np.full(n, -1, np.int32), np.zeros(n, np.uint8), (LEAF, POPPY))  # fmt: skip


MANNERS = ("over a metre", "slanting lines", "specks")


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10**6), n=st.integers(2, 300), manner=st.sampled_from(MANNERS))
def test_areas_of_random_stitches_are_a_partition(seed, n, manner):
    plan = random_plan(np.random.default_rng(seed), n, manner)
    found, region_map = guess_areas(plan, thread_mm=0.4)
    assert region_faults(region_map) == ()
    assert len(region_map.regions) <= n + 500
    assert found.action.tolist() == plan.action.tolist()
    ids = {r.id for r in region_map.regions}
    assert set(found.region_id[found.region_id >= 0].tolist()) <= ids
    step = np.diff(found.xy_mm, axis=0) - np.diff(plan.xy_mm, axis=0)
    assert np.abs(step).max(initial=0.0) < 1e-9


@pytest.mark.parametrize("manner", MANNERS)
def test_time_grows_with_the_stitches(manner):
    """Eight times the stitches take less than twenty times as long."""
    rng = np.random.default_rng(5)
    seconds = []
    for n in (300, 2400):
        plan = random_plan(rng, n, manner)
        start = time.process_time()
        guess_areas(plan, thread_mm=0.4)
        seconds.append(time.process_time() - start)
    assert seconds[1] < 20 * max(seconds[0], 0.1)
