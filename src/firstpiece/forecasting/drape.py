"""How much stiffer an embroidered area hangs than its cloth: a ranking by a layered sheet.

Input: layers with their bending and stretch stiffness. Output: bending stiffness and the bending
length, the overhang a cloth holds up. Uncertain by a factor of three and more.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from firstpiece.model.forecast import DrapeRank
from firstpiece.model.measured import Band, Certainty, Figure

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.forecasting.laid_thread import ThreadSection
    from firstpiece.model.forecast import RegionForecast
    from firstpiece.model.material import Setup

GRAVITY = 9.80665
# Share by which layers act as one: none, as taken, glued (guess); only a bent patch can tell.
BOND, BOND_RANGE = 0.1, (0.02, 0.4)
BASIS = "layered sheet; how far its layers are bonded is a guess: a ranking"
# Of a solid layer of thread's stiffness the part that twisted, crimped filaments bring (guess).
MOBILISED = 0.05
THREAD_N_PER_TEX = 3.0
# Density of a pressed non-woven [kg/m³] (guess).
BACKING_KG_M3 = 250.0


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer: bending stiffness [N·m], stretch stiffness [N/m], thickness [m], mass [kg/m²]."""

    bend: float
    stretch: float
    thickness: float
    mass: float


def laminate_bend(layers: Sequence[Layer], bond: float) -> float:
    """Return the bending stiffness of layers lying on each other [N·m per m width].

    Parameters
    ----------
    layers : sequence of Layer
        From the bottom up.
    bond : float
        0 for layers that slide, 1 for layers glued together.

    Notes
    -----
    ΣBᵢ + bond·Σ Nᵢ(zᵢ − z₀)², z₀ the stretch-weighted middle: the parallel-axis rule.
    """
    middles, bottom = [], 0.0
    for layer in layers:
        middles.append(bottom + layer.thickness / 2)
        bottom += layer.thickness
    total = sum(layer.stretch for layer in layers)
    centre = sum(n.stretch * z for n, z in zip(layers, middles, strict=True)) / total
    steiner = sum(n.stretch * (z - centre) ** 2 for n, z in zip(layers, middles, strict=True))
    return sum(layer.bend for layer in layers) + bond * steiner


def bending_length_mm(bend: float, mass: float) -> float:
    """Return the bending length c = (B/(m·g))^⅓ [mm] of stiffness [N·m] and mass [kg/m²].

    References
    ----------
    Peirce 1930, The handle of cloth as a measurable quantity, J. Text. Inst. 21, T377.
    """
    return float(1e3 * (bend / (mass * GRAVITY)) ** (1.0 / 3.0))


def overhang_share(angle_deg: float) -> float:
    """Return bending length over overhang for a strip that droops by an angle.

    Notes
    -----
    c/l = (cos(θ/2)/(8·tan θ))^⅓ (Peirce 1930); at 41.5° about one half, the rule of ASTM D1388.
    """
    angle = math.radians(angle_deg)
    return float((math.cos(angle / 2) / (8.0 * math.tan(angle))) ** (1.0 / 3.0))


def cloth_layers(setup: Setup) -> tuple[Layer, Layer]:
    """Return backing and cloth, the backing below."""
    fabric, backing = setup.fabric, setup.backing
    mass = backing.weight.value * 1e-3
    sheet = Layer(backing.bend.value * 1e-6, backing.stiffness.value, mass / BACKING_KG_M3, mass)
    mean = math.sqrt(fabric.stretch_along.value * fabric.stretch_across.value)
    cloth = Layer(
        fabric.bend.value * 1e-6, mean, fabric.thickness.value * 1e-3, fabric.weight.value * 1e-3
    )
    return sheet, cloth


def thread_layer(section: ThreadSection, layers: float, tex: float) -> Layer:
    """Return so many layers of closed thread as one layer of the sheet."""
    thick = max(section.height_mm * layers, 1e-6) * 1e-3
    stretch = MOBILISED * THREAD_N_PER_TEX * tex * layers / (section.width_mm * 1e-3)
    return Layer(stretch * thick**2 / 12.0, stretch, thick, section.layer_mass * layers)


def rank_drape(
    regions: Sequence[RegionForecast],
    mean_layers: Sequence[float],
    sections: Sequence[ThreadSection],
    tex: Sequence[float],
    setup: Setup,
) -> tuple[DrapeRank, ...]:
    """Return the areas by how much stiffer they hang than the cloth, the stiffest first.

    Parameters
    ----------
    regions : sequence of RegionForecast
    mean_layers : sequence of float
        Threads lying over each other in each area, on average.
    sections : sequence of ThreadSection
        Of each area's thread.
    tex : sequence of float [g/km]
    setup : Setup
    """
    sheet, cloth = cloth_layers(setup)
    plain = bending_length_mm(cloth.bend, cloth.mass)
    found = []
    for region, count, section, fineness in zip(regions, mean_layers, sections, tex, strict=True):
        thread = thread_layer(section, max(count, 1e-3), fineness)
        stack = (sheet, cloth, thread)
        bend = laminate_bend(stack, BOND)
        after = bending_length_mm(bend, sum(layer.mass for layer in stack))
        ends = [laminate_bend(stack, bond) / cloth.bend for bond in BOND_RANGE]
        figure = Figure(Band(ends[0], bend / cloth.bend, ends[1]), "×", Certainty.DEFAULT, BASIS)
        found.append(DrapeRank(region.region_id, bend / cloth.bend, plain, after, figure))
    return tuple(sorted(found, key=lambda r: (-r.times_stiffer, r.region_id)))
