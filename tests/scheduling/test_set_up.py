"""Hoop, needle, backing and topping for shipped cards; facts of the trade, without source."""

from __future__ import annotations

from dataclasses import replace

import pytest

from firstpiece.files.material_card import CardDrawer
from firstpiece.model.hooping import box_corners, smallest_hoop
from firstpiece.scheduling.set_up import advise_set_up

CARDS = CardDrawer()
SMALL = box_corners(60, 60)


@pytest.mark.parametrize(
    ("size_mm", "hoop"),
    [((70, 60), "round-120"), ((110, 90), "round-180"), ((200, 200), "square-240"),
     ((330, 270), "wide-360"), ((470, 330), "back-500")],
)  # fmt: skip
def test_smallest_hoop_that_clears(size_mm, hoop):
    advice = advise_set_up(CARDS.setup("apron-natural"), box_corners(*size_mm))
    assert advice.hoop.name == hoop
    smaller = [h for h in CARDS.setup("apron-natural").hoops if h.width_mm < advice.hoop.width_mm]
    assert smallest_hoop(box_corners(*size_mm), tuple(smaller)) is None


def test_a_design_that_clears_no_hoop_is_told():
    advice = advise_set_up(CARDS.setup("polo-navy"), box_corners(300.0, 120.0))
    assert advice.hoop is None
    assert advice.notes[0].startswith("no hoop clears 300 × 120 mm; the largest is Square")


def test_thin_thread_goes_with_a_thin_needle():
    """60 weight with 65/9 (common practice, no source); the point stays the cloth's."""
    thin = advise_set_up(CARDS.setup("tee-white", thread="poly-60"), SMALL)
    usual = advise_set_up(CARDS.setup("tee-white"), SMALL)
    assert (thin.needle.metric_size, thin.needle.point) == (65, "ball")
    assert (usual.needle.metric_size, usual.needle.point) == (75, "ball")
    assert any("65/9" in note and "75/11" in note for note in thin.notes)


def test_cloth_that_stretches_wants_a_backing_that_stays():
    """A tee is held by a cutaway backing and hooped taut, never stretched (no source)."""
    tee = CARDS.setup("tee-white")
    assert any("never stretched" in note for note in advise_set_up(tee, SMALL).notes)
    torn = replace(tee, backing=CARDS.backing("tearaway-60"))
    assert any("a cutaway backing holds it" in note for note in advise_set_up(torn, SMALL).notes)
    assert advise_set_up(CARDS.setup("apron-natural"), SMALL).notes == ()


def test_pile_wants_a_film():
    assert advise_set_up(CARDS.setup("towel-white"), SMALL).topping == "water-soluble film"
    assert advise_set_up(CARDS.setup("apron-natural"), SMALL).topping == ""
