"""How far the cloth's colour comes through the thread, as a CIEDE2000 difference.

Input: thread and cloth colour, the shares of an area under 0, 1, 2, … threads, gap and layer data.
Output: the difference between the area on this cloth and the same area on cloth dyed like the
thread, so that shade between threads, which any sewn area has, does not count as show-through.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from skimage.color import deltaE_ciede2000, xyz2lab

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from firstpiece.model.material import RGB

# IEC 61966-2-1, linear sRGB to XYZ under D65.
XYZ_OF_LINEAR = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
# Dyed fibre reflects neither nothing nor everything; also keeps the formulas finite.
_DARKEST, _LIGHTEST = 0.002, 0.985


def linear_rgb(rgb: RGB) -> NDArray[np.float64]:
    """Return (3,) float64 reflectances for sRGB codes (IEC 61966-2-1)."""
    code = np.asarray(rgb, dtype=np.float64) / 255.0
    curved = ((code + 0.055) / 1.055) ** 2.4
    return np.clip(np.where(code <= 0.04045, code / 12.92, curved), _DARKEST, _LIGHTEST)


def color_difference(first: ArrayLike, second: ArrayLike) -> float:
    """Return CIEDE2000 between two linear sRGB reflectances, each (3,) float (ISO/CIE 11664-6)."""
    lab = xyz2lab(np.stack([np.asarray(first), np.asarray(second)]) @ XYZ_OF_LINEAR.T)
    return float(deltaE_ciede2000(lab[0], lab[1]))


def layer_reflectance(
    solid: NDArray[np.float64], under: NDArray[np.float64], scatter: float
) -> NDArray[np.float64]:
    """Return the reflectance of a scattering layer over a background.

    Parameters
    ----------
    solid : (n,) float64
        Reflectance R∞ of an endlessly thick layer, 0 < R∞ < 1.
    under : (n,) float64
        Reflectance Rg of what lies below.
    scatter : float
        Scattering power SX, without unit, zero or more.

    Notes
    -----
    R = (1 − Rg(a − b coth bSX)) / (a − Rg + b coth bSX), a = (R∞ + 1/R∞)/2, b = √(a² − 1).
    Holds for diffuse light and an even layer; a thread's gloss and roundness are left out.

    References
    ----------
    Kubelka & Munk 1931, Z. techn. Physik 12, 593; Kubelka 1948, J. Opt. Soc. Am. 38, 448.
    """
    if scatter <= 0.0:
        return under.copy()
    a = (solid + 1.0 / solid) / 2.0
    b = np.sqrt(a * a - 1.0)
    b_coth = b / np.tanh(b * scatter)
    result: NDArray[np.float64] = (1.0 - under * (a - b_coth)) / (a - under + b_coth)
    return result


def gap_reflectance(
    floor: NDArray[np.float64], wall: NDArray[np.float64], depth_to_width: float
) -> NDArray[np.float64]:
    """Return how light the cloth looks at the bottom of a gap between threads.

    Parameters
    ----------
    floor, wall : (n,) float64
        Reflectance of the cloth and of the threads' sides.
    depth_to_width : float
        H, the gap's depth over its width.

    Notes
    -----
    Radiosity of a long slot under even light: floor to opening F = √(1 + H²) − H, wall to opening
    and to floor (1 − F)/(2H) each, wall to wall the rest (crossed strings; Hottel 1954).
    """
    if depth_to_width < 1e-9:
        return floor.copy()
    height = depth_to_width
    opening = np.sqrt(1.0 + height * height) - height
    aside = (1.0 - opening) / (2.0 * height)
    across = 1.0 - 2.0 * aside
    # Walls: Bw = wall·(aside + aside·Bf + across·Bw); floor: Bf = floor·(opening + (1−opening)·Bw).
    spread = wall * aside / (1.0 - wall * across)
    result: NDArray[np.float64] = (
        floor * (opening + (1.0 - opening) * spread) / (1.0 - floor * (1.0 - opening) * spread)
    )
    return result


@dataclass(frozen=True, slots=True)
class SewnTexture:
    """What an area is made of, seen from above.

    Parameters
    ----------
    shares : tuple of float
        Shares of the area under 0, 1, 2, … threads; they add up to 1.
    gap_mm : float [mm]
        Usual width of the gaps.
    thread_height_mm : float [mm]
        Height of a laid thread.
    layer_mass : float [kg/m²]
        Thread mass per area of one layer.
    """

    shares: tuple[float, ...]
    gap_mm: float
    thread_height_mm: float
    layer_mass: float


def sewn_reflectance(
    thread: NDArray[np.float64], cloth: NDArray[np.float64], texture: SewnTexture, scatter: float
) -> NDArray[np.float64]:
    """Return the mean reflectance of a sewn area in linear sRGB.

    Parameters
    ----------
    thread, cloth : (3,) float64
        Reflectance of the thread wound solid and of the cloth.
    texture : SewnTexture
    scatter : float [m²/kg]
        The thread's Kubelka–Munk scattering per mass.

    Notes
    -----
    Murray–Davies mixing of linear light: R = Σ aₖ·Rₖ over the shares aₖ. Light that wanders
    sideways between thread and cloth (Yule–Nielsen n > 1) is left out; n = 1.5 to 3 would change
    colours by up to about 2 CIEDE2000.

    References
    ----------
    Murray 1936, J. Franklin Inst. 221, 721; Yule & Nielsen 1951, TAGA Proc. 3, 65.
    """
    mixed: NDArray[np.float64] = np.asarray(texture.shares) @ layer_colors(
        thread, cloth, texture, scatter
    )
    return mixed


def layer_colors(
    thread: NDArray[np.float64], cloth: NDArray[np.float64], texture: SewnTexture, scatter: float
) -> NDArray[np.float64]:
    """Return (k, 3) float64: linear sRGB of the places under 0, 1, … threads of a sewn area."""
    depth = texture.thread_height_mm / max(texture.gap_mm, 1e-6)
    parts = [gap_reflectance(cloth, thread, depth)]
    for n_threads in range(1, len(texture.shares)):
        power = scatter * texture.layer_mass * n_threads
        parts.append(layer_reflectance(thread, cloth, power))
    return np.stack(parts)


def show_through(thread_rgb: RGB, cloth_rgb: RGB, texture: SewnTexture, scatter: float) -> float:
    """Return the CIEDE2000 difference between the area on this cloth and on thread-coloured cloth.

    Parameters
    ----------
    thread_rgb, cloth_rgb : tuple of int
        sRGB codes of the thread wound solid and of the garment.
    texture : SewnTexture
    scatter : float [m²/kg]

    Notes
    -----
    A mean colour: single bare specks can be seen though the mean passes. Not checked against sewn
    cloth; halftone models of this kind are often 5 units off (Noffke & Seymour, A Universal Model
    for Halftone Reflectance).
    """
    thread, cloth = linear_rgb(thread_rgb), linear_rgb(cloth_rgb)
    seen = sewn_reflectance(thread, cloth, texture, scatter)
    ideal = sewn_reflectance(thread, thread, texture, scatter)
    return color_difference(seen, ideal)
