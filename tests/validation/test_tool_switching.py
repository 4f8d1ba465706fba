"""Cone changes over a queue, held to published tool-switching results.

Source: Y. Crama, A. W. J. Kolen, A. G. Oerlemans and F. C. R. Spieksma, "Minimizing the number of
tool switches on a flexible machine", Int. J. of Flexible Manufacturing Systems 6 (1994) 33–54: ten
random instances of 10 jobs, 10 tools and 4 slots; optima by exhaustive search over all orders.
Paging: L. A. Belady, IBM Systems Journal 5 (1966) 78–101; the reference string is a textbook's
(from memory), its optimum of 9 loads in 3 frames computed.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from firstpiece.scheduling.needle_loading import load_best_order, load_fixed_order

INSTANCES = json.loads((Path(__file__).parent / "data" / "ssp_crama10x10.json").read_text("utf-8"))[
    "instances"
]


def cones(instance: dict) -> list[frozenset[str]]:
    return [frozenset(f"cone {t:02d}" for t in tools) for tools in instance["job_tools"]]


@pytest.mark.parametrize("instance", INSTANCES, ids=lambda i: i["name"])
def test_given_order_needs_the_published_changes(instance):
    found = load_fixed_order(cones(instance), needles=instance["C"])
    assert found.changes == instance["ktns_identity"]


@pytest.mark.parametrize("instance", INSTANCES, ids=lambda i: i["name"])
def test_best_order_is_the_proven_optimum(instance):
    found = load_best_order(cones(instance), needles=instance["C"])
    assert found.changes == instance["optimum"]
    assert found.is_proved


def test_paging_optimum():
    string = [7, 0, 1, 2, 0, 3, 0, 4, 2, 3, 0, 3, 2, 1, 2, 0, 1, 7, 0, 1]
    found = load_fixed_order([frozenset({str(p)}) for p in string], needles=3)
    assert found.changes + 3 == 9


def test_one_needle_more_is_never_worse():
    """Belady 1969: first-in-first-out can get worse with a slot more; this cannot."""
    string = [1, 2, 3, 4, 1, 2, 5, 1, 2, 3, 4, 5]
    queue = [frozenset({str(p)}) for p in string]
    loads = [load_fixed_order(queue, needles=n).changes + n for n in (3, 4)]
    assert loads == [7, 6]
