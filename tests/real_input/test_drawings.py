"""The sixty drawings as SVG: each comes through the chain to written files.

A spread of them runs always, the rest is marked slow.
"""

from __future__ import annotations

import pytest
from tests.real_input.coming_through import come_through, spread


@pytest.mark.parametrize("design", spread(4))
def test_drawing_comes_through(design):
    come_through(design, "svg")
