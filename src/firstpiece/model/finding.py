"""Findings: what a customer would notice, where, why, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum


class Severity(IntEnum):
    """How much a finding matters; BLOCK stops the job from being sewn."""

    NOTE = 1
    WARN = 2
    BLOCK = 3


@dataclass(frozen=True, slots=True)
class Remedy:
    """One action that answers a finding.

    Parameters
    ----------
    label : str
        What it does, as an imperative sentence.
    action : str
        Machine-readable verb: ``height``, ``drop``, ``thicken``, ``spacing``, ``stitch_type``,
        ``angle``, ``underlay``, ``pull``, ``order``, ``recolor``, ``garment``, ``backing``,
        ``topping``, ``thread``, ``tie``, ``true_shape``, ``swatch``.
    region_id : int
        The area it acts on, or -1 for the whole design.
    value : float or str or None
        The verb's argument (mm for lengths, radians for angles, a card or thread name).
    """

    label: str
    action: str
    region_id: int = -1
    value: float | str | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """Something worth a look before sewing.

    Parameters
    ----------
    code : str
        Stable lower-case name, listed in ``docs/findings.md``.
    severity : Severity
    reason : str
        One plain sentence.
    where_mm : tuple of float or None
        The pin's place (x, y) in the design, or None when it is everywhere.
    measured, limit : float or None
        The figure that raised it and what it was held against, in ``unit``.
    unit : str
    region_id : int
        The area concerned, or -1.
    remedies : tuple of Remedy
        At least one for WARN and BLOCK.
    """

    code: str
    severity: Severity
    reason: str
    where_mm: tuple[float, float] | None = None
    measured: float | None = None
    limit: float | None = None
    unit: str = ""
    region_id: int = -1
    remedies: tuple[Remedy, ...] = ()

    def __post_init__(self) -> None:
        if self.severity > Severity.NOTE and not self.remedies:
            msg = f"finding {self.code} must offer a remedy"
            raise ValueError(msg)


# What a customer notices first, by code: from across a table, read close, with a finger. What is
# on no list concerns the shop alone.
SEEN_AT_ONCE = (
    "no-hoop-clears", "stitch-too-long", "too-small", "low-contrast", "cloth-shows",
    "uncovered-spot", "gap-opens", "oval",
)  # fmt: skip
SEEN_CLOSE = ("narrow-gap", "thin-detail", "needs-topping", "needs-backing", "long-satin",
              "cover-unsure", "thread-far", "thread-shared")  # fmt: skip
FELT = ("lump", "stiff-patch")
_NOTICED = {
    code: place for place, codes in enumerate((SEEN_AT_ONCE, SEEN_CLOSE, FELT)) for code in codes
}


def rank_findings(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Return the findings worst first, and of one weight what a customer notices first.

    Findings of one weight seen from equally far go by how far they are past their limit; equal
    ones keep a stable, place-based order.
    """

    def key(f: Finding) -> tuple[int, int, float, str, tuple[float, float]]:
        ratio = abs(f.measured / f.limit) if f.measured and f.limit else 1.0
        # A figure may be bad by being too large or too small: its distance from the limit counts.
        noticed = _NOTICED.get(f.code, 3)
        past = max(ratio, 1 / ratio)
        return (-int(f.severity), noticed, -past, f.code, f.where_mm or (0.0, 0.0))

    return tuple(sorted(findings, key=key))
