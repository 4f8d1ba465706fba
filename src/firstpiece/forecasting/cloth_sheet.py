"""The sheet that is sewn: cloth and backing as one plane elastic layer, and how it softens or not.

Input: cards. Output: moduli in N/mm for the strains εx, εy, γxy. Cloth runs along y on a garment,
across along x.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Backing, Fabric

# Guesses: a knit's transverse contraction is larger, a woven's smaller.
CLOTH_POISSON, BACKING_POISSON = 0.3, 0.3
# Stretch at which a knit has reached the top of its measured stiffness (guess; the paper's steps
# could not be read).
STIFFENED_AT = 0.3


@dataclass(frozen=True, slots=True)
class SheetStiffness:
    """Stretch stiffness of a cloth along x and y and of its backing, and its shear [N/mm]."""

    across: float
    along: float
    shear: float
    backing: float

    @classmethod
    def of_cards(cls, fabric: Fabric, backing: Backing) -> SheetStiffness:
        """Return the cards' middle values."""
        return cls(
            fabric.stretch_across.value * 1e-3,
            fabric.stretch_along.value * 1e-3,
            fabric.shear.value * 1e-3,
            backing.stiffness.value * 1e-3,
        )


def orthotropic(across: float, along: float, shear: float, poisson: float) -> NDArray[np.float64]:
    """Return (3, 3) plane-stress moduli [N/mm].

    Parameters
    ----------
    across, along : float [N/mm]
        Stretch stiffness along x and along y.
    shear : float [N/mm]
    poisson : float
        √(ν12·ν21); the two ratios then stand as the stiffnesses do (Maxwell's reciprocity).
    """
    mixed = poisson * math.sqrt(across * along)
    scale = 1.0 / (1.0 - poisson**2)
    moduli: NDArray[np.float64] = np.array(
        [[across * scale, mixed * scale, 0.0], [mixed * scale, along * scale, 0.0],
         [0.0, 0.0, shear]]
    )  # fmt: skip
    return moduli


def cloth_moduli(sheet: SheetStiffness) -> NDArray[np.float64]:
    """Return (3, 3) moduli of the cloth alone [N/mm]."""
    return orthotropic(sheet.across, sheet.along, sheet.shear, CLOTH_POISSON)


def backing_moduli(sheet: SheetStiffness) -> NDArray[np.float64]:
    """Return (3, 3) moduli of the backing alone, alike in all directions [N/mm]."""
    shear = sheet.backing / (2.0 * (1.0 + BACKING_POISSON))
    return orthotropic(sheet.backing, sheet.backing, shear, BACKING_POISSON)


def stiffness_along(
    moduli: NDArray[np.float64], angle_rad: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the stretch stiffness of a sheet in directions, free to contract sideways [N/mm].

    Parameters
    ----------
    moduli : (3, 3) float64 [N/mm]
    angle_rad : (n,) float64 [rad]
        From x.

    Notes
    -----
    1/E(θ) = nᵀ S n with the compliance S and n = (c², s², cs) (off-axis modulus; Jones 1975,
    Mechanics of Composite Materials, ch. 2).
    """
    c, s = np.cos(angle_rad), np.sin(angle_rad)
    n = np.stack([c * c, s * s, c * s])
    flexible: NDArray[np.float64] = np.einsum("ik,ij,jk->k", n, np.linalg.inv(moduli), n)
    return 1.0 / flexible


def pulled_stiffness(
    moduli: NDArray[np.float64], angle_rad: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the stiffness that a pair of opposite point pulls meets [N/mm].

    Parameters
    ----------
    moduli : (3, 3) float64 [N/mm]
    angle_rad : (n,) float64 [rad]
        Direction of the pulls, from x.

    Returns
    -------
    (n,) float64 [N/mm]

    Notes
    -----
    E∥^¾ · E⊥^¼. In a sheet whose shear stiffness lies at √(E1·E2)/(2 + 2ν), stretching one axis
    by (E1/E2)^¼ makes it alike in all directions (Lekhnitskii 1968, Anisotropic Plates); a pull
    along axis 1 then meets this mean. Elsewhere a fair guess.
    """
    along = stiffness_along(moduli, angle_rad)
    aside = stiffness_along(moduli, angle_rad + math.pi / 2)
    result: NDArray[np.float64] = along**0.75 * aside**0.25
    return result


def stiffened(fabric: Fabric, stretch: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return by how much a cloth is stiffer at these stretches than at none (1 and more).

    Parameters
    ----------
    fabric : Fabric
    stretch : (n,) float64
        Largest strain; compression counts as none.

    Notes
    -----
    Straight from 1 to the card's ``stiffening``: the measured cloths stiffen 8 to 12 times over
    their table (Wang, O'Brien & Ramamoorthi 2011), by steps that could not be read.
    """
    share = np.clip(stretch / STIFFENED_AT, 0.0, 1.0)
    result: NDArray[np.float64] = 1.0 + (fabric.stiffening.value - 1.0) * share
    return result
