"""Material and equipment cards, and the set-up that a job is planned and forecast on.

Every physical number is a ``Measured``; the cards themselves are TOML files in ``data/`` (read by
``files.material_card``) or rows of the shop's store.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from firstpiece.model.measured import Measured
from firstpiece.units import thread_diameter_mm

RGB = tuple[int, int, int]


def check_rgb(rgb: RGB) -> None:
    """Raise ValueError unless ``rgb`` is three codes from 0 to 255."""
    if len(rgb) != 3 or any(not 0 <= code <= 255 for code in rgb):
        msg = f"{rgb!r} is not an sRGB colour"
        raise ValueError(msg)


def rgb_to_hex(rgb: RGB) -> str:
    """Return ``#rrggbb``."""
    return "#{:02x}{:02x}{:02x}".format(*rgb)


class Weave(StrEnum):
    """How a cloth is built; decides its drawn texture and its default treatment."""

    KNIT = "knit"
    TWILL = "twill"
    PLAIN = "plain"
    TERRY = "terry"
    FLEECE = "fleece"


@dataclass(frozen=True, slots=True)
class ThreadColor:
    """One colour of thread on the rack.

    Parameters
    ----------
    name : str
        The shop's own name for it.
    rgb : tuple of int
        sRGB codes 0–255 of the thread wound solid.
    tex : float [g/km]
        Linear density (ISO 1144).
    """

    name: str
    rgb: RGB
    tex: float

    def __post_init__(self) -> None:
        check_rgb(self.rgb)
        if not 1.0 <= self.tex <= 500.0:
            msg = f"{self.tex} tex is not a sewing thread"
            raise ValueError(msg)

    @property
    def hex(self) -> str:
        """The colour as ``#rrggbb``."""
        return rgb_to_hex(self.rgb)


@dataclass(frozen=True, slots=True)
class Thread:
    """A kind of thread and the rack of colours it is kept in.

    ``tex`` [g/km], ``density`` [g/cm³], ``packing`` and ``flattening`` (width over round diameter)
    set the width a laid thread covers; ``scatter`` [m²/kg] is its Kubelka–Munk scattering;
    ``cone`` [m] and ``cone_cost_minor`` price it.
    """

    name: str
    label: str
    fibre: str
    tex: Measured
    density: Measured
    packing: Measured
    flattening: Measured
    scatter: Measured
    cone: Measured
    cone_cost_minor: int
    colors: tuple[ThreadColor, ...]

    def __post_init__(self) -> None:
        if not self.colors:
            msg = "a thread card needs at least one colour"
            raise ValueError(msg)

    @property
    def laid_width_mm(self) -> float:
        """Width one laid thread covers [mm]: its round diameter times its flattening."""
        round_mm = thread_diameter_mm(self.tex.value, self.density.value, self.packing.value)
        return round_mm * self.flattening.value


# What a card that is silent gets: spans of the ten cloths of Wang, O'Brien & Ramamoorthi 2011,
# Data-Driven Elastic Models for Cloth, and a backing nobody measured.
TEN_CLOTHS = "guess inside the ten cloths of Wang, O'Brien & Ramamoorthi 2011"
USUAL_SHEAR = Measured(50.0, 14.0, 105.0, "N/m", TEN_CLOTHS)
USUAL_BEND = Measured(40.0, 14.0, 130.0, "uN.m", TEN_CLOTHS)
NOT_STIFFENING = Measured(1.0, 1.0, 1.0, "", "taken as linear")
USUAL_BACKING_BEND = Measured(100.0, 60.0, 200.0, "uN.m", "guess")


@dataclass(frozen=True, slots=True)
class Fabric:
    """A cloth: weight [g/m²], thickness [mm], stretch along and across [N/m], pull per side [mm].

    ``pull`` is how far a column end draws in on this cloth with its usual backing; planning widens
    by it. ``topping`` tells that loops or pile need a film on top. ``shear`` [N/m] and ``bend``
    [µN·m per m width] complete the sheet; ``stiffening`` is how many times stiffer it is at the
    end of its measured stretch than at small stretch.
    """

    name: str
    label: str
    weave: Weave
    weight: Measured
    thickness: Measured
    stretch_along: Measured
    stretch_across: Measured
    pull: Measured
    needs_topping: bool = False
    shear: Measured = USUAL_SHEAR
    bend: Measured = USUAL_BEND
    stiffening: Measured = NOT_STIFFENING


@dataclass(frozen=True, slots=True)
class Backing:
    """A sheet hooped under the cloth: weight [g/m²], stiffness [N/m], how it is removed, bend."""

    name: str
    label: str
    weight: Measured
    stiffness: Measured
    removal: str
    sheet_cost_minor: int
    bend: Measured = USUAL_BACKING_BEND


@dataclass(frozen=True, slots=True)
class Needle:
    """A needle by metric size Nm (hundredths of a millimetre of blade) and point."""

    metric_size: int
    point: str

    def __post_init__(self) -> None:
        if not 40 <= self.metric_size <= 250:
            msg = f"Nm {self.metric_size} is not a needle size"
            raise ValueError(msg)

    @property
    def blade_mm(self) -> float:
        """Diameter of the blade [mm]."""
        return self.metric_size / 100


@dataclass(frozen=True, slots=True)
class Hoop:
    """A hoop's inner clear size [mm] and the margin the foot needs from its edge [mm]."""

    name: str
    label: str
    width_mm: float
    height_mm: float
    margin_mm: float
    is_round: bool = False


@dataclass(frozen=True, slots=True)
class Machine:
    """A sewing head's limits and times.

    ``top_speed`` [stitches/min]; ``speed_constant`` K [stitches·√mm/min] caps the rate at K/√L
    for a stitch of L mm; ``trim``, ``color_change`` and ``start`` in seconds. A jump longer than
    ``trim_over_mm`` is cut; shorter ones are snipped by hand (common practice, no source: 2 to 3).
    """

    name: str
    label: str
    needles: int
    heads: int
    top_speed: Measured
    speed_constant: Measured
    trim: Measured
    color_change: Measured
    start: Measured
    longest_stitch_mm: float
    longest_jump_mm: float
    step_mm: float
    trim_over_mm: float = 2.0

    def __post_init__(self) -> None:
        if self.needles < 1 or self.heads < 1:
            msg = "a machine needs at least one head and one needle"
            raise ValueError(msg)


@dataclass(frozen=True, slots=True)
class Garment:
    """What is sewn on: its cloth, colour and the shop's usual way to hoop it.

    ``placement`` says in words where the design goes; ``cautions`` name the safety lines that
    apply.
    """

    name: str
    label: str
    kind: str
    fabric: str
    color_name: str
    rgb: RGB
    backing: str
    hoops: tuple[str, ...]
    needle: Needle
    thread: str
    placement: str
    cost_minor: int
    cautions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        check_rgb(self.rgb)


@dataclass(frozen=True, slots=True)
class Setup:
    """Everything under and over the needle for one job.

    ``hoops`` are the hoops this garment may use, smallest first; ``topping`` tells that a film is
    laid over the cloth.
    """

    garment: Garment
    fabric: Fabric
    backing: Backing
    thread: Thread
    needle: Needle
    machine: Machine
    hoops: tuple[Hoop, ...] = field(default=())
    topping: bool = False
