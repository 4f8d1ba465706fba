"""Small values to store, and empty stores in either database."""

from __future__ import annotations

import os
from datetime import UTC, datetime

import pytest
import shapely
from tests.store.cluster import fresh_database, is_installed, running_cluster

from firstpiece.model.material import ThreadColor
from firstpiece.model.region import BARE, ColorMatch, Region, RegionMap
from firstpiece.model.stitch import Action, Role, StitchPlan, StitchType, Treatment, Underlay
from firstpiece.store.database import open_store

GREEN = ThreadColor("moss", (62, 138, 58), 26.7)


@pytest.fixture
def ring_map():
    outer = shapely.box(-10, -10, 10, 10)
    hole = shapely.box(-4, -4, 4, 4)
    regions = (Region(0, outer - hole, 0), Region(1, hole, BARE))
    return RegionMap(regions, (ColorMatch((60, 140, 60), GREEN, 1.5),), 20.0, 20.0)


@pytest.fixture
def small_plan():
    xy = [(0.0, 0.0), (1.234, -0.001), (2.5, 3.75), (2.5, 3.75)]
    treatment = Treatment(
        0, StitchType.FILL, 0.5, 0.38, 3.5, (Underlay.EDGE_RUN,), 0.2, 0, 0, 3, "wide area"
    )
    return StitchPlan(
        xy_mm=xy,
        action=[Action.STITCH, Action.STITCH, Action.STITCH, Action.END],
        thread=[0, 0, 0, 0],
        region_id=[0, 0, 0, -1],
        role=[Role.COVER] * 4,
        threads=(GREEN,),
        treatments=(treatment,),
    )


NOON = datetime(2031, 4, 5, 12, 0, tzinfo=UTC)
ENGINES = ("sqlite", "postgresql")


@pytest.fixture(scope="session")
def cluster():
    """Return the address of a PostgreSQL cluster; only outside CI may it be missing."""
    if not is_installed():
        if os.environ.get("CI") == "true":
            pytest.fail("PostgreSQL is not installed, and CI must test it")
        pytest.skip("PostgreSQL is NOT TESTED: run python tools/system_packages.py postgresql")
    with running_cluster() as address:
        yield address


@pytest.fixture
def new_address(request, tmp_path):
    """Return a function that gives the address of an empty database of an engine's kind."""
    kept = []

    def give(engine):
        if engine == "sqlite":
            return str(tmp_path / f"store-{len(kept)}-{len(list(tmp_path.iterdir()))}.sqlite")
        manager = fresh_database(request.getfixturevalue("cluster"))
        kept.append(manager)
        return manager.__enter__()

    yield give
    for manager in kept:
        manager.__exit__(None, None, None)


@pytest.fixture
def new_store(new_address, tmp_path):
    """Return a function that opens an empty store of an engine's kind."""
    opened = []

    def give(engine):
        store = open_store(
            new_address(engine), pictures=tmp_path / f"pictures-{len(opened)}", at=NOON
        )
        opened.append(store)
        return store

    yield give
    for store in opened:
        store.close()


@pytest.fixture(params=ENGINES)
def engine_name(request):
    return request.param


@pytest.fixture
def store(new_store, engine_name):
    """Return an empty store, in either database."""
    return new_store(engine_name)
