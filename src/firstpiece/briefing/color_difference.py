"""How far apart two colours look, and how light and how coloured one is.

sRGB codes in; CIEDE2000 or CIELAB figures out (D65, 2°), by scikit-image.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from skimage.color import deltaE_ciede2000, rgb2lab

if TYPE_CHECKING:
    from firstpiece.model.material import RGB


def color_difference(one: RGB, other: RGB) -> float:
    """Return the CIEDE2000 difference of two sRGB colours.

    References
    ----------
    ISO/CIE 11664-6:2014 (CIE DE2000).
    """
    lab = rgb2lab(np.array([[one, other]], dtype=np.uint8))[0]
    return float(deltaE_ciede2000(lab[0], lab[1]))


def lightness_and_chroma(rgb: RGB) -> tuple[float, float]:
    """Return L* (0 to 100) and C*ab of an sRGB colour."""
    lightness, a, b = rgb2lab(np.array([[rgb]], dtype=np.uint8))[0, 0]
    return float(lightness), float(np.hypot(a, b))
