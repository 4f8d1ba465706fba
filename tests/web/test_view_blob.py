"""The blob is read back by a twin reader and must hold the plan to its unit of 0.01 mm.

Source of the check: the layout written down in the module itself; struct and numpy are the oracle.
"""

from __future__ import annotations

import gzip
import struct

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from tests.web.plans import plan_of, setup_on, striped_plan

from firstpiece.model.material import Weave
from firstpiece.model.stitch import Action
from firstpiece.web.view_blob import compress_view_blob, read_view_blob, write_view_blob


def test_round_trip_keeps_every_point_thread_and_laid_segment():
    plan, setup = striped_plan(), setup_on("tee-black")
    got = read_view_blob(write_view_blob(plan, setup=setup))
    np.testing.assert_allclose(got.xy_mm, plan.xy_mm, atol=0.005 + 1e-9)
    np.testing.assert_array_equal(got.thread, plan.thread)
    np.testing.assert_array_equal(np.flatnonzero(got.marks & 1), plan.sewn_segments())
    np.testing.assert_array_equal((got.marks >> 1) & 3, plan.role)
    np.testing.assert_array_equal(got.marks >> 3, plan.action)
    np.testing.assert_array_equal(got.area, plan.region_id)
    assert got.threads == tuple(t.rgb for t in plan.threads)
    assert got.cloth == setup.garment.rgb
    assert got.weave is Weave.KNIT
    assert got.laid_width_mm == pytest.approx(setup.thread.laid_width_mm, rel=1e-6)


@given(
    xy=hnp.arrays(
        np.float64, st.tuples(st.integers(0, 40), st.just(2)), elements=st.floats(-900, 900)
    )
)
def test_any_plan_survives_whatever_its_size(xy):
    plan = plan_of(xy, np.full(len(xy), Action.STITCH))
    got = read_view_blob(write_view_blob(plan, setup=setup_on()))
    np.testing.assert_allclose(got.xy_mm, xy.reshape(-1, 2), atol=0.005 + 1e-9)


def test_long_steps_switch_to_wide_columns():
    near = write_view_blob(plan_of([[0, 0], [327.67, 0]], [0, 0]), setup=setup_on())
    far = write_view_blob(plan_of([[0, 0], [327.68, 0]], [0, 0]), setup=setup_on())
    assert struct.unpack_from("<I", near, 4)[0] == 0
    assert struct.unpack_from("<I", far, 4)[0] == 1
    assert read_view_blob(far).xy_mm[1, 0] == pytest.approx(327.68)


def test_header_lies_where_the_layout_says():
    blob = write_view_blob(striped_plan(), setup=setup_on("apron-natural"))
    magic, _, n, t, unit, _, cloth, _ = struct.unpack_from("<4sIIIffII", blob)
    assert (magic, n, t, cloth) == (b"FPV2", len(striped_plan().xy_mm), 2, 0xE9DFC9)
    assert unit == pytest.approx(0.01)


def test_same_plan_gives_same_bytes_and_shrinks():
    blob = write_view_blob(striped_plan(), setup=setup_on())
    packed = compress_view_blob(blob)
    assert packed == compress_view_blob(write_view_blob(striped_plan(), setup=setup_on()))
    assert gzip.decompress(packed) == blob
    assert len(packed) < len(blob) / 3


@pytest.mark.parametrize("harm", [lambda b: b[:-1], lambda b: b + b"\0", lambda b: b"X" + b[1:],
                                  lambda b: b[:10]])  # fmt: skip
def test_a_harmed_blob_is_refused(harm):
    with pytest.raises(ValueError, match="view blob"):
        read_view_blob(harm(write_view_blob(striped_plan(), setup=setup_on())))
