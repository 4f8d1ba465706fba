"""Wishes in words, every field of a spec, and what is said of words that cannot be read."""

import dataclasses
import math

import pytest

from firstpiece.errors import InputError
from firstpiece.model.design import spec_from
from firstpiece.model.stitch import (
    Motif,
    Relief,
    RowCourse,
    RunKind,
    StitchSpec,
    StitchType,
    Underlay,
)
from firstpiece.shop.area_wishes import read_wishes

ALL = (
    "3: satin, rows 0.5, columns 0.35mm, stitch 4, pull 0.2, feather 3, tie 1.5, angle 45, order 2,"
    " underlay edge run + zigzag, run triple, motif leaf, relief wave, course along the shape,"
    " guide 1 -2 90, guide 3 4 0, fade apple red at 180"
)


def test_every_wish_has_its_words():
    spec = read_wishes([ALL])[3]
    assert spec == StitchSpec(
        StitchType.SATIN, math.pi / 4, 0.5, 0.35, 4.0, (Underlay.EDGE_RUN, Underlay.ZIGZAG), 0.2, 2,
        RunKind.TRIPLE, Motif.LEAF, Relief.WAVE, RowCourse.CURVED,
        ((1.0, -2.0, math.pi / 2), (3.0, 4.0, 0.0)), 3.0, "apple red", math.pi,
        1.5,
    )  # fmt: skip
    assert all(getattr(spec, f.name) is not None for f in dataclasses.fields(spec))


def test_wishes_survive_being_kept_with_a_revision():
    spec = read_wishes([ALL])[3]
    assert spec_from(dataclasses.asdict(spec)) == spec


def test_several_texts_add_up():
    specs = read_wishes(["1: fill", "2: running", "1: rows 0.6"])
    assert specs == {
        1: StitchSpec(StitchType.FILL, row_spacing_mm=0.6),
        2: StitchSpec(StitchType.RUNNING),
    }
    assert read_wishes([]) == {}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("satin", "names no area"),
        ("x: satin", "names no area"),
        ("1: glue", "cannot|not something"),
        ("1: rows 50", "out of range"),
        ("1: rows nan", "out of range"),
        ("1: underlay carpet", "no kind"),
        ("1: guide 1 2", "place and a direction"),
        ("1: fade", "names no thread"),
        ("1:", "not something"),
    ],
)
def test_what_cannot_be_read_is_said(text, said):
    with pytest.raises(InputError, match=said) as caught:
        read_wishes([text])
    assert caught.value.remedy
