"""Each edit on plain shapes whose answer can be reckoned by hand, and what it refuses."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from tests.editing.designs import RACK, design, faults, square

from firstpiece.editing.means import EditMeans
from firstpiece.editing.stage import apply_edit, carry_out
from firstpiece.errors import EditError
from firstpiece.files.shipped_fonts import shipped_fonts
from firstpiece.model.edit import (
    AddRing,
    AreaRef,
    AreaToLine,
    CloseGap,
    DropArea,
    LayArea,
    LineToArea,
    MakeBare,
    MakeThread,
    MergeAreas,
    RecolorArea,
    RedrawEdge,
    SetLetters,
    SharpenCorner,
    SmoothEdge,
    SplitArea,
    SwapThread,
    ThickenArea,
)
from firstpiece.model.lettering import ArcBaseline, StraightBaseline

MEANS = EditMeans(RACK, shipped_fonts())
A, B = AreaRef(0), AreaRef(1)


def edited(region_map, edit):
    done = carry_out(region_map, edit, means=MEANS)
    assert faults(done.region_map) == []
    return done


def pair(gap: float = 0.0):
    """Two 20 mm squares side by side, red and green."""
    return design((square(0, 0, 20), "red"), (square(20 + gap, 0, 20), "green"))


def area_of(region_map, number: int) -> float:
    return region_map.region(number).polygon.area


def test_merged_areas_take_thread_and_number_of_the_first():
    made = edited(pair(), MergeAreas((B, A))).region_map
    (region,) = made.regions
    assert (region.id, made.thread_of(region).name) == (1, "green")
    assert region.polygon.area == pytest.approx(800.0)
    with pytest.raises(EditError, match="areas 0 and 1 do not touch; close the gap"):
        apply_edit(pair(gap=1.0), MergeAreas((A, B)))


def test_a_split_goes_through_though_the_line_ends_inside():
    done = edited(pair(), SplitArea(A, ((-12.0, 0.0), (-8.0, 0.0))))
    assert area_of(done.region_map, 0) == pytest.approx(200.0, abs=0.01)
    assert area_of(done.region_map, 2) == pytest.approx(200.0, abs=0.01)
    assert done.sentence == "Area 0 (red) is cut in 2: 0, 2."
    with pytest.raises(EditError, match="does not cut area 0 from edge to edge"):
        apply_edit(pair(), SplitArea(A, ((5.0, -30.0), (5.0, 30.0))))


def test_a_dropped_area_goes_to_whom_it_shares_most_edge_with_or_to_cloth():
    hole = shapely.Polygon(square(0, 0, 20).exterior, [square(5, 5, 10).exterior])
    ringed = design((hole, "red"), (square(5, 5, 10), "white"))
    made = edited(ringed, DropArea(B)).region_map
    assert [r.id for r in made.regions] == [0]
    assert area_of(made, 0) == pytest.approx(400.0)
    gone = edited(pair(), DropArea(B))
    assert gone.region_map.width_mm == pytest.approx(20.0)
    assert "is gone." in gone.sentence
    with pytest.raises(EditError, match="nothing would be left to sew"):
        apply_edit(design((square(0, 0, 9), "red")), DropArea(A))


def test_threads_change_without_moving_an_outline():
    before = pair()
    made = edited(before, RecolorArea(A, "blue")).region_map
    assert made.thread_of(made.region(0)).name == "blue"
    assert made.region(0).polygon.equals(before.region(0).polygon)
    swapped = edited(pair(), SwapThread("green", "white")).region_map
    assert swapped.thread_of(swapped.region(1)).name == "white"
    with pytest.raises(EditError, match="no thread “sky” on the rack"):
        carry_out(before, RecolorArea(A, "sky"), means=MEANS)
    with pytest.raises(EditError, match="nothing is sewn in “blue”; the design's threads are"):
        carry_out(before, SwapThread("blue", "red"), means=MEANS)


def test_bare_and_thread_and_back():
    bare = edited(pair(), MakeBare(B)).region_map
    assert bare.region(1).is_bare
    assert bare.width_mm == pytest.approx(20.0)
    sewn = edited(bare, MakeThread(B, "green")).region_map
    assert sewn.width_mm == pytest.approx(40.0)
    with pytest.raises(EditError, match="bare cloth already"):
        apply_edit(bare, MakeBare(B))
    with pytest.raises(EditError, match="sewn already; recolour"):
        carry_out(sewn, MakeThread(B, "red"), means=MEANS)


def test_thicker_takes_half_on_each_side_from_whom_is_there():
    """A 20 mm square thickened by 2 mm is 22 mm wide; its neighbour loses 1 mm of 20."""
    made = edited(pair(), ThickenArea(A, 2.0)).region_map
    assert area_of(made, 0) == pytest.approx(22.0 * 22.0, rel=1e-6)
    assert area_of(made, 1) == pytest.approx(19.0 * 20.0, rel=1e-6)
    assert made.height_mm == pytest.approx(22.0)


def test_thinner_gives_each_neighbour_its_own_side_and_the_rest_to_cloth():
    made = edited(pair(), ThickenArea(A, -2.0)).region_map
    assert area_of(made, 0) == pytest.approx(18.0 * 18.0, rel=1e-6)
    # The neighbour's strip is 1 mm wide and ends in two corners cut at 45 degrees.
    assert area_of(made, 1) == pytest.approx(20.0 * 20.0 + 19.0, abs=0.3)
    with pytest.raises(EditError, match=r"20\.00 mm wide at most, so nothing would be left"):
        apply_edit(pair(), ThickenArea(A, -20.5))
    with pytest.raises(EditError, match="cannot be thickened by 4000 mm"):
        apply_edit(pair(), ThickenArea(A, 4000.0))


def test_a_gap_is_closed_and_only_up_to_its_width():
    done = edited(pair(gap=0.8), CloseGap(A, 1.0, B))
    assert area_of(done.region_map, 0) == pytest.approx(400.0 + 16.0, abs=0.3)
    assert apply_edit(done.region_map, MergeAreas((A, B))).regions[0].polygon.area > 800.0
    with pytest.raises(EditError, match=r"no gap of up to 0.5 mm .*next area is 0.80 mm away"):
        apply_edit(pair(gap=0.8), CloseGap(A, 0.5, B))


def wobbly(amplitude: float):
    """A disc of 15 mm radius whose edge wobbles 40 times round."""
    t = np.linspace(0, 2 * math.pi, 721)[:-1]
    r = 15.0 + amplitude * np.sin(40 * t)
    return design((shapely.Polygon(np.column_stack([r * np.cos(t), r * np.sin(t)])), "red"))


def test_smoothing_brings_a_wobbling_disc_back_to_a_circle():
    before = wobbly(0.2)
    done = edited(before, SmoothEdge(A, 0.4))
    edge = shapely.get_coordinates(done.region_map.regions[0].polygon.exterior)
    assert np.abs(np.hypot(*edge.T) - 15.0).max() < 0.03
    assert 0.15 < done.moved_mm < 0.25
    assert "moved by 0.2" in done.sentence
    nothing = carry_out(before, SmoothEdge(A, 0.0))
    assert nothing.region_map is before


def test_smoothing_here_leaves_the_rest_of_the_edge():
    done = edited(wobbly(0.2), SmoothEdge(A, 0.4, (15.0, 0.0), 6.0))
    edge = shapely.get_coordinates(done.region_map.regions[0].polygon.exterior)
    off = np.abs(np.hypot(*edge.T) - 15.0)
    near = np.hypot(edge[:, 0] - 15.0, edge[:, 1]) < 4.0
    far = np.hypot(edge[:, 0] - 15.0, edge[:, 1]) > 6.1
    assert off[near].max() < 0.12
    assert off[far].max() > 0.15
    with pytest.raises(EditError, match=r"is 14\.8 mm from there; choose a place on its edge"):
        apply_edit(wobbly(0.2), SmoothEdge(A, 0.4, (0.0, 0.0), 2.0))


def test_smoothing_keeps_corners():
    made = edited(pair(), SmoothEdge(A, 0.5)).region_map
    assert area_of(made, 0) == pytest.approx(400.0, abs=0.3)


def test_a_rounded_corner_becomes_sharp_again():
    """A square of 20 mm with corners of 2 mm radius: sharp, a corner gains (1 - π/4) r²."""
    rounded = design((square(-10, -10, 20).buffer(-2).buffer(2, quad_segs=16), "red"))
    done = edited(rounded, SharpenCorner(A, (10.0, 10.0), 5.0))
    gain = area_of(done.region_map, 0) - area_of(rounded, 0)
    assert gain == pytest.approx((1 - math.pi / 4) * 4.0, abs=0.02)
    with pytest.raises(EditError, match="straight here"):
        apply_edit(rounded, SharpenCorner(A, (10.0, 0.0), 3.0))


def test_an_edge_drawn_anew_moves_the_neighbour_with_it():
    done = edited(pair(), RedrawEdge(A, ((0.0, 10.0), (4.0, 0.0), (0.0, -10.0))))
    assert area_of(done.region_map, 0) == pytest.approx(440.0, abs=0.01)
    assert area_of(done.region_map, 1) == pytest.approx(360.0, abs=0.01)
    assert done.moved_mm == pytest.approx(4.0, abs=0.1)
    with pytest.raises(EditError, match=r"begins or ends 20.* mm from the edge"):
        apply_edit(pair(), RedrawEdge(A, ((-40.0, 10.0), (-40.0, -10.0))))


def test_a_band_becomes_a_line_and_an_area_again():
    band = design((square(-20, -1, 40, 2), "red"))
    line = edited(band, AreaToLine(A)).region_map
    (centre,) = line.regions[0].lines
    assert np.abs(centre.xy_mm[:, 1]).max() < 0.02
    assert centre.width_mm == pytest.approx(2.0, abs=0.05)
    thin = edited(band, AreaToLine(A, 1.0)).region_map
    assert thin.height_mm == pytest.approx(1.0, abs=0.02)
    wide = edited(thin, LineToArea(A, 3.0)).region_map
    assert wide.regions[0].lines == ()
    assert wide.height_mm == pytest.approx(3.0, abs=0.02)
    with pytest.raises(EditError, match="area 0 is no line"):
        apply_edit(band, LineToArea(A))
    with pytest.raises(EditError, match="too round to have a middle line"):
        apply_edit(design((shapely.Point(0, 0).buffer(5), "red")), AreaToLine(A))


def test_a_ring_behind_yields_and_one_in_front_covers():
    """Round a 20 mm square, 2 mm wide, with sharp corners: 24² − 20²; in front 22² − 18²."""
    one = design((square(0, 0, 20), "red"))
    behind = edited(one, AddRing(2.0, "blue")).region_map
    assert area_of(behind, 0) == pytest.approx(400.0)
    assert area_of(behind, 1) == pytest.approx(24.0**2 - 400.0, rel=1e-6)
    front = edited(one, AddRing(2.0, "blue", in_front=True)).region_map
    assert area_of(front, 0) == pytest.approx(18.0**2, rel=1e-6)
    assert area_of(front, 1) == pytest.approx(22.0**2 - 18.0**2, rel=1e-6)
    beside = edited(pair(), AddRing(2.0, "blue", (A,))).region_map
    assert area_of(beside, 1) == pytest.approx(400.0)


def test_what_lies_beneath_is_kept_or_cut_out():
    hole = shapely.Polygon(square(0, 0, 20).exterior, [square(5, 5, 10).exterior])
    stacked = design((hole, "red"), (square(5, 5, 10), "white"))
    kept = edited(stacked, LayArea(B, keeps=True)).region_map
    assert kept.region(0).beneath.area == pytest.approx(100.0)
    cut = edited(kept, LayArea(B, keeps=False)).region_map
    assert cut.region(0).beneath is None
    with pytest.raises(EditError, match="lies on bare cloth"):
        apply_edit(design((square(0, 0, 9), "red")), LayArea(A, keeps=True))


def test_set_text_replaces_areas_and_its_letters_know_their_forms():
    board = design((square(-40, -15, 80, 30), "green"), (square(-60, -5, 15, 10), "red"))
    text = SetLetters("SOS", "Noto Sans Bold", "white", 10.0, StraightBaseline((8.0, -5.0)),
                      replaces=(AreaRef(1),))  # fmt: skip
    made = edited(board, text).region_map
    letters = [r for r in made.regions if r.letter is not None]
    assert [r.letter.text for r in letters] == ["S", "O", "S"]
    assert letters[0].letter.key == letters[2].letter.key
    assert letters[0].polygon.area == pytest.approx(letters[2].polygon.area, rel=1e-4)
    assert 1 not in {r.id for r in made.regions}
    # The inside of the O is the board showing through.
    insides = [r for r in made.regions if r.letter is None and r.id != 0]
    assert [made.thread_of(r).name for r in insides] == ["green"]
    with pytest.raises(EditError, match="the font “Curly” is not at hand"):
        carry_out(board, SetLetters("a", "Curly", "red", 9.0), means=MEANS)


def test_text_on_an_arc_beyond_the_design_makes_it_larger():
    one = design((shapely.Point(0, 0).buffer(20), "red"))
    made = edited(one, SetLetters("ROUND", "Noto Sans", "blue", 8.0, ArcBaseline(23.0))).region_map
    assert made.height_mm == pytest.approx(20.0 + 31.0, abs=0.6)


def test_a_cut_letter_is_no_letter_any_more():
    one = design((square(-40, -15, 80, 30), "green"))
    text = SetLetters("I", "Noto Sans Bold", "white", 10.0)
    made = edited(one, text).region_map
    (letter,) = (r for r in made.regions if r.letter)
    split = edited(made, SplitArea(AreaRef(letter.id), ((-9.0, 5.0), (9.0, 5.0)))).region_map
    assert not [r for r in split.regions if r.letter]


@pytest.mark.parametrize("number", [-1, 7, 999_999])
def test_an_unknown_area_is_refused_with_those_there_are(number):
    with pytest.raises(EditError, match=f"no area {number}; the areas are 0–1."):
        apply_edit(pair(), DropArea(AreaRef(number)))


@pytest.mark.parametrize(
    "edit",
    [
        DropArea(AreaRef(at_mm=(300.0, 0.0))),
        DropArea(AreaRef(at_mm=(math.nan, 0.0))),
        DropArea(AreaRef()),
        ThickenArea(A, math.nan),
        ThickenArea(A, math.inf),
        ThickenArea(A, 1e12),
        CloseGap(A, -1.0),
        CloseGap(A, 0.0),
        SmoothEdge(A, -0.1),
        SmoothEdge(A, 1e3),
        SmoothEdge(A, 0.2, (math.inf, 0.0)),
        SplitArea(A, ()),
        SplitArea(A, ((1.0, 1.0),)),
        SplitArea(A, ((1.0, 1.0), (1.0, 1.0))),
        RedrawEdge(A, ((1.0, 1.0), (1.0, 1.0))),
        MergeAreas(()),
        MergeAreas((A, A)),
        AddRing(0.0, "red"),
        AddRing(-3.0, "red"),
        AddRing(4e3, "red"),
        AddRing(1.0, "no such thread"),
        AreaToLine(A, -2.0),
        LayArea(A, True, A),
        SetLetters("", "Noto Sans", "red", 9.0),
        SetLetters("a", "Noto Sans", "red", math.nan),
        SetLetters("a", "Noto Sans", "red", 9.0, ArcBaseline(-4.0)),
        "drop everything",
    ],
)
def test_absurd_edits_get_one_clear_sentence(edit):
    from firstpiece.errors import InputError

    with pytest.raises((InputError, AttributeError)) as fault:
        carry_out(pair(), edit, means=MEANS)
    if isinstance(edit, str):
        assert fault.type is AttributeError
        return
    said = str(fault.value)
    assert said.endswith(".")
    assert "Traceback" not in said
    assert len(said) < 300
