"""Yarn diameter and cover: Peirce 1937, J. Text. Inst. 28, T45 (d = 1/(28·√Ne) inch, specific
volume 1.1 cm³/g), and a woven fabric calculation sheet (20 tex at 28 threads per cm).
"""

import numpy as np
import pytest

from firstpiece.kernels.coverage import Grid, count_layers
from firstpiece.units import thread_diameter_mm

TEX_NE = 590.541  # tex × English cotton count, ASTM D2260 Table 1


@pytest.mark.parametrize("tex", [10.0, 20.0, 29.527, 60.0])
def test_cotton_diameter(tex):
    """A round yarn of specific volume 1.1 cm³/g is Peirce's 1/(28·√Ne) inch within 0.3 %."""
    peirce_mm = 25.4 / (28.0 * np.sqrt(TEX_NE / tex))
    # Fibre density and packing enter as their product, 1/1.1 g/cm³ for the yarn.
    assert thread_diameter_mm(tex, 1.0 / 1.1, 1.0) == pytest.approx(peirce_mm, rel=3e-3)


def test_fractional_cover_of_the_sheet():
    """20 tex at 28 per cm: diameter 0.16694 mm (28 rule), cover 0.46744, both ways 0.71638."""
    # The factor 28 corresponds to a yarn density of 4/(π·0.03733²)·1e-3 g/cm³.
    width = thread_diameter_mm(20.0, 4e-3 / (np.pi * 0.03732852**2), 1.0)
    assert width == pytest.approx(0.16694, abs=1e-5)
    pitch = 10.0 / 28
    heights = np.arange(-8.0, 8.0, pitch)
    level = np.column_stack(
        [np.full_like(heights, -8.0), heights, np.full_like(heights, 8.0), heights]
    )
    both = np.vstack([level, level[:, [1, 0, 3, 2]]])
    # A window of 30 pitches, well inside; each row is sampled at another phase.
    n = 30 * 35 + 1
    grid = Grid(-15 * pitch, 15 * pitch, 30 * pitch / n, n, n)
    one = count_layers(level, np.full(len(level), width / 2), grid)
    two = count_layers(both, np.full(len(both), width / 2), grid)
    assert float((one > 0).mean()) == pytest.approx(0.46744, abs=1.5e-3)
    assert float((two > 0).mean()) == pytest.approx(0.71638, abs=1.5e-3)
