"""Every test run keeps its results and cards in a folder of its own, never in the person's."""

from __future__ import annotations

import os

import pytest
from hypothesis import settings

# Compiling a kernel, or a busy machine, is no fault of a property.
settings.register_profile("firstpiece", deadline=None)
settings.load_profile("firstpiece")


@pytest.fixture(autouse=True, scope="session")
def own_home(tmp_path_factory: pytest.TempPathFactory):
    before = os.environ.get("FIRSTPIECE_HOME")
    os.environ["FIRSTPIECE_HOME"] = str(tmp_path_factory.mktemp("home"))
    yield
    if before is None:
        del os.environ["FIRSTPIECE_HOME"]
    else:
        os.environ["FIRSTPIECE_HOME"] = before
