"""The sixty drawings as rough JPEGs: wobbled, blurred, noisy; each comes through to written files.

A spread of them runs always, the rest is marked slow.
"""

from __future__ import annotations

import pytest
from tests.real_input.coming_through import come_through, spread


@pytest.mark.parametrize("design", spread(8))
def test_rough_picture_comes_through(design):
    come_through(design, "jpeg")
