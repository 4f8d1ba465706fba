"""Whatever a person does, the design stays an exact partition, and everything can be undone."""

from __future__ import annotations

import json
from dataclasses import fields, replace

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.editing.designs import RACK, design, faults, patchworks, square

from firstpiece.editing.means import EditMeans
from firstpiece.editing.stage import apply_edit, carry_out, pin_edit, replay_edits
from firstpiece.errors import EditError
from firstpiece.model.edit import (
    EDIT_KINDS,
    AddRing,
    AreaRef,
    AreaToLine,
    CloseGap,
    DropArea,
    EditLog,
    LayArea,
    LineToArea,
    MakeBare,
    MakeEven,
    MakeThread,
    MergeAreas,
    RecolorArea,
    RedrawEdge,
    SharpenCorner,
    SmoothEdge,
    SplitArea,
    SwapThread,
    ThickenArea,
)
from firstpiece.model.edit_code import edit_from, edit_object, log_from, log_object
from firstpiece.model.frozen import content_hash
from firstpiece.model.region import region_faults

MEANS = EditMeans(rack=RACK)
places = st.tuples(st.floats(-22, 22), st.floats(-17, 17)).map(
    lambda p: (round(p[0], 2), round(p[1], 2))
)
areas = st.one_of(st.integers(0, 12).map(AreaRef), places.map(lambda place: AreaRef(at_mm=place)))
widths = st.floats(0.1, 3.0).map(lambda x: round(x, 2))
threads = st.sampled_from([thread.name for thread in RACK])
lines = st.lists(places, min_size=2, max_size=5).map(tuple)
EDITS = st.one_of(
    st.builds(MergeAreas, st.lists(areas, min_size=2, max_size=3, unique=True).map(tuple)),
    st.builds(SplitArea, areas, lines),
    st.builds(DropArea, areas),
    st.builds(RecolorArea, areas, threads),
    st.builds(SwapThread, threads, threads),
    st.builds(MakeBare, areas),
    st.builds(MakeThread, areas, threads),
    st.builds(ThickenArea, areas, st.floats(-4, 4).map(lambda x: round(x, 2))),
    st.builds(CloseGap, areas, widths, st.none() | areas),
    st.builds(SmoothEdge, areas, widths, st.none() | places, st.just(6.0)),
    st.builds(SharpenCorner, areas, places, st.just(4.0)),
    st.builds(RedrawEdge, areas, lines),
    st.builds(AreaToLine, areas, st.just(0.0) | widths),
    st.builds(LineToArea, areas, widths),
    st.builds(AddRing, widths, threads, st.lists(areas, max_size=2).map(tuple), st.booleans()),
    st.builds(LayArea, areas, st.booleans()),
    st.builds(MakeEven, places, st.floats(0, 3), st.sampled_from([0, 2, 3])),
)
quick = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


def named(edit, region_map):
    """Return an edit whose area numbers exist in the design, so that few edits are refused."""
    ids = [region.id for region in region_map.regions]

    def fit(part):
        if isinstance(part, AreaRef) and part.number is not None:
            return replace(part, number=ids[part.number % len(ids)])
        return part

    changes = {}
    for f in fields(edit):
        part = getattr(edit, f.name)
        is_list = isinstance(part, tuple) and part and isinstance(part[0], AreaRef)
        changes[f.name] = tuple(fit(p) for p in part) if is_list else fit(part)
    return replace(edit, **changes)


@quick
@given(patchworks(), st.lists(EDITS, min_size=1, max_size=5))
def test_any_edits_leave_an_exact_partition(region_map, edits):
    next_id = 0
    for edit in edits:
        before = {region.id for region in region_map.regions}
        next_id = max(next_id, *(n + 1 for n in before))
        fitting = named(edit, region_map)
        try:
            edited = carry_out(region_map, fitting, means=EditMeans(RACK, next_id=next_id))
        except EditError:
            continue
        region_map = edited.region_map
        assert faults(region_map) == []
        assert region_faults(region_map) == ()
        assert edited.sentence.endswith(".")
        fresh = {region.id for region in region_map.regions} - before
        assert all(number >= next_id for number in fresh)


def test_the_fault_finder_bites():
    over = design((square(0, 0, 10), "red"), (square(9, 0, 10), "green"))
    apart = design((square(0, 0, 10), "red"), (square(10, 2, 10, 5), "green"))
    assert faults(over)
    assert faults(apart)


@quick
@given(patchworks(), st.lists(EDITS, min_size=1, max_size=4), st.integers(1, 4))
def test_undo_brings_the_same_bytes_back_and_redo_the_later_ones(region_map, edits, n):
    log = EditLog(region_map.height_mm)
    states = [content_hash(region_map)]
    for edit in edits:
        try:
            made = replay_edits(region_map, log.add(edit), means=MEANS)
        except EditError:
            continue
        log = log.add(edit)
        states.append(content_hash(made.region_map))
    back = log.undo(n)
    assert (
        content_hash(replay_edits(region_map, back, means=MEANS).region_map)
        == states[len(back.edits)]
    )
    again = back.redo(n)
    assert again == log
    assert content_hash(replay_edits(region_map, again, means=MEANS).region_map) == states[-1]


@quick
@given(patchworks(), lines)
def test_what_was_split_merges_to_what_it_was(region_map, line):
    area = region_map.regions[0]
    try:
        cut = apply_edit(region_map, SplitArea(AreaRef(area.id), line))
    except EditError:
        return
    pieces = [r for r in cut.regions if r.id == area.id or r.id > max(
        r.id for r in region_map.regions
    )]  # fmt: skip
    assert len(pieces) >= 2
    assert sum(r.polygon.area for r in pieces) == pytest.approx(area.polygon.area, abs=0.05)
    whole = apply_edit(cut, MergeAreas(tuple(AreaRef(r.id) for r in pieces)))
    same = whole.region(area.id).polygon
    assert shapely.symmetric_difference(same, area.polygon).area < 0.02
    assert len(whole.regions) == len(region_map.regions)


@quick
@given(patchworks())
def test_thickening_by_nothing_is_the_identity(region_map):
    area = next(r for r in region_map.regions if not r.is_bare)
    assert apply_edit(region_map, ThickenArea(AreaRef(area.id), 0.0)) is region_map


@quick
@given(st.lists(EDITS, max_size=6), st.integers(0, 6))
def test_edits_pass_through_json(edits, n):
    log = EditLog(90.0, tuple(edits)).undo(n)
    assert log_from(json.loads(json.dumps(log_object(log)))) == log


def test_every_kind_of_edit_is_drawn_or_tested_by_itself():
    names = {kind.kind for kind in EDIT_KINDS}
    assert len(names) == len(EDIT_KINDS)
    by_itself = {"text", "straighten"}
    drawn = {"merge", "split", "drop", "recolor", "swap thread", "make bare", "make thread",
             "thicken", "close gap", "smooth", "sharpen", "redraw", "to line", "to area", "ring",
             "lay", "even"}  # fmt: skip
    assert names == by_itself | drawn


@quick
@given(patchworks(), st.floats(0.5, 3.0))
def test_edits_find_their_areas_at_another_height(region_map, factor):
    """Recoloured by place at one height, the same area is recoloured at another."""
    area = max((r for r in region_map.regions if not r.is_bare), key=lambda r: r.polygon.area)
    edit = pin_edit(region_map, RecolorArea(AreaRef(area.id), "white"))
    log = EditLog(region_map.height_mm).add(edit)
    larger = _scaled(region_map, factor)
    made = replay_edits(larger, log, means=MEANS).region_map
    assert made.thread_of(made.region(area.id)).name == "white"


def _scaled(region_map, factor):
    regions = tuple(
        # Numbers differ after a new trace; the place is what is left.
        replace(r, polygon=shapely.transform(r.polygon, lambda xy: xy * factor))
        for r in region_map.regions
    )
    return replace(
        region_map,
        regions=regions,
        width_mm=region_map.width_mm * factor,
        height_mm=region_map.height_mm * factor,
    )


@pytest.mark.parametrize("plain", [
    None, 3, [], {}, {"edit": "sew"}, {"edit": "drop"}, {"edit": "drop", "area": "x"},
    {"edit": "drop", "area": {"number": 1.5}}, {"edit": "drop", "area": {"at_mm": [1, None]}},
    {"edit": "drop", "area": 1, "extra": 2}, {"edit": "thicken", "area": 1, "by_mm": "wide"},
    {"edit": "thicken", "area": 1, "by_mm": float("nan")},
    {"edit": "thicken", "area": 1, "by_mm": float("inf")},
    {"edit": "thicken", "area": 1, "by_mm": 1e9}, {"edit": "thicken", "area": True, "by_mm": 1},
    {"edit": "split", "area": 1, "line_mm": [[0, 0], [1]]},
    {"edit": "split", "area": 1, "line_mm": 7}, {"edit": "ring", "width_mm": 1, "thread": 7},
    {"edit": "lay", "area": 1, "keeps": "yes"},
    {"edit": "text", "text": "a", "font": "f", "thread": "red", "cap_height_mm": 9,
     "path": {"kind": "spiral"}},
])  # fmt: skip
def test_json_that_is_no_edit_gets_one_sentence(plain):
    with pytest.raises(EditError) as fault:
        edit_from(plain)
    assert str(fault.value).count(".") >= 1
    with pytest.raises(EditError):
        log_from({"version": 1, "edits": [plain]})


def test_a_log_of_a_newer_version_is_refused():
    with pytest.raises(EditError, match="another version"):
        log_from({"version": 2, "edits": []})
    assert edit_from({"edit": "drop", "area": 4}) == DropArea(AreaRef(4))
    assert edit_object(DropArea(AreaRef(4))) == {"edit": "drop", "area": {"number": 4}}
    assert np.isfinite(log_from({"version": 1}).height_mm)
