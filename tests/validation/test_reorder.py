"""Lot sizes and one-off orders, held to textbook exercises with printed answers.

Sources: an economic-lot exercise with printed answer (D 19,500, S 25, H 4 → 494); S. Nahmias,
Production and Operations Analysis, ch. 5 newsstand (mean 11.73, deviation 4.74; prices from
memory);
F. S. Hillier and G. J. Lieberman, Introduction to Operations Research, perishable order exercise.
"""

from __future__ import annotations

import math

import pytest

from firstpiece.errors import InputError
from firstpiece.stocking.reorder import (
    critical_ratio,
    economic_lot,
    one_off_order,
    one_off_order_from_counts,
    reorder_point,
)


def test_economic_lot_printed_answer():
    lot = economic_lot(19_500, 25, 4)
    assert round(lot) == 494
    # At the best lot, holding and ordering cost the same: together √(2DSH).
    assert lot / 2 * 4 + 19_500 / lot * 25 == pytest.approx(math.sqrt(2 * 19_500 * 25 * 4))


def test_economic_lot_second_exercise():
    assert economic_lot(250, 20, 1) == pytest.approx(100)
    assert economic_lot(250, 45, 1) == pytest.approx(150)


def test_newsstand():
    assert critical_ratio(0.50, 0.15) == pytest.approx(0.76923, abs=1e-5)
    assert one_off_order(11.73, 4.74, 0.50, 0.15) == pytest.approx(15.22, abs=0.005)


def test_perishable_counts():
    chance = {15: 0.4, 16: 0.2, 17: 0.3, 18: 0.1}
    assert one_off_order_from_counts(chance, 1.0, 1.0) == 16


@pytest.mark.parametrize(("service", "z"), [(0.95, 1.64485), (0.98, 2.05375), (0.99, 2.32635)])
def test_safety_stock_uses_the_normal_table(service, z):
    assert reorder_point(0.0, 2.0, 9.0, service) == pytest.approx(z * 6.0, rel=1e-5)


def test_nonsense_is_refused_in_words():
    with pytest.raises(InputError, match="yearly use"):
        economic_lot(0, 25, 4)
    with pytest.raises(InputError, match="service"):
        reorder_point(1, 1, 1, 1.0)
