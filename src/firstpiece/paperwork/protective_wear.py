"""Cautions with numbers: protective and children's wear held against published limits.

In: a garment's caution codes, the design's size, holes and area. Out: lines to print. They say what
a limit is and what the design takes; whether it may be sewn is for local codes, the garment maker's
label and a competent person. The area taken from a background is our reading, not a standard's.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _

MM2_PER_CM2 = 100.0
MM2_PER_M2 = 1e6

HI_VIS_BACKGROUND_M2 = {3: 0.80, 2: 0.50, 1: 0.14}
HI_VIS_REFLECTIVE_M2 = {3: 0.20, 2: 0.13, 1: 0.10}
"""Least visible areas by class, EN ISO 20471:2013 table 1."""

FLAME_EMBLEM_CM2, FLAME_ALL_CM2, FLAME_EMBLEMS = 103.0, 258.0, 5
"""NFPA 2112 annex A.7.1.2.1 and ASTM F1506 appendix X1.2.5: 16 in² each, 40 in² in all."""

FLAME_UNTESTED_CM2 = 10.0
"""EN ISO 11612: an emblem larger than this is tested."""

NIGHTWEAR_LONGEST_MM, NIGHTWEAR_ALL_CM2 = 50.0, 125.0
"""16 CFR 1615 and 1616: trim below these is left out of the flammability test (2 in, 20 in²)."""

FORBIDDEN = ("inflatable", "harness", "life-saving", "medical", "motorsport", "ballistic")


@dataclass(frozen=True, slots=True)
class SewnMark:
    """What is put on a garment: its box [mm], the cloth it covers [mm²], needle holes, how many."""

    width_mm: float
    height_mm: float
    covered_mm2: float
    n_holes: int
    n_marks: int = 1
    fibre: str = ""


def protective_cautions(codes: tuple[str, ...], mark: SewnMark) -> tuple[str, ...]:
    """Return the caution lines for a garment's codes, each with its numbers.

    Parameters
    ----------
    codes : tuple of str
        ``hi-vis`` or ``hi-vis-1`` to ``hi-vis-3``, ``flame-resistant``, ``waterproof``,
        ``nightwear``, ``stretch``, or one of ``FORBIDDEN``; others say nothing here.
    mark : SewnMark
    """
    lines: list[str] = []
    for code in codes:
        if code in FORBIDDEN:
            lines.append(
                _("Do not sew: stitching weakens a {kind} product.").format(kind=_kind(code))
            )
        elif code.startswith("hi-vis"):
            lines.append(_hi_vis(code, mark))
        elif code == "flame-resistant":
            lines += _flame(mark)
        elif code == "waterproof":
            text = _("Each needle hole leaks: {n} holes. Seal the back or sew a patch instead.")
            lines.append(text.format(n=mark.n_holes))
        elif code == "nightwear":
            lines.append(_nightwear(mark))
        elif code == "stretch":
            lines.append(_("A wide design can stop a stretch opening from passing the head."))
    if lines:
        lines.append(deciding_line())
    return tuple(lines)


def deciding_line() -> str:
    """Return the sentence that says who decides."""
    return _("Local codes, the garment maker's label and a competent person decide.")


def _kind(code: str) -> str:
    """Return the word for a forbidden kind."""
    return {
        "inflatable": _("inflatable"), "harness": _("harness"), "life-saving": _("life-saving"),
        "medical": _("medical"), "motorsport": _("motorsport"), "ballistic": _("ballistic"),
    }[code]  # fmt: skip


def _hi_vis(code: str, mark: SewnMark) -> str:
    """Return how much background the design takes, against the class's least area."""
    taken = mark.covered_mm2 * mark.n_marks / MM2_PER_M2
    tail = code.removeprefix("hi-vis").lstrip("-")
    classes = [int(tail)] if tail in {"1", "2", "3"} else [3, 2, 1]
    least = ", ".join(
        _("class {n}: {area:.2f} m²").format(n=n, area=HI_VIS_BACKGROUND_M2[n]) for n in classes
    )
    return _(
        "High visibility: the design takes {taken:.4f} m² of background; left over must be at "
        "least {least} (EN ISO 20471). Never sew on the bands."
    ).format(taken=taken, least=least)


def _flame(mark: SewnMark) -> list[str]:
    """Return the limits of emblems on flame-resistant wear, and whether the design keeps them."""
    each = mark.width_mm * mark.height_mm / MM2_PER_CM2
    total = each * mark.n_marks
    kept = each <= FLAME_EMBLEM_CM2 and total <= FLAME_ALL_CM2 and mark.n_marks <= FLAME_EMBLEMS
    verdict = _("within") if kept else _("beyond")
    lines = [
        _(
            "Flame-resistant: {n} × {each:.0f} cm², {total:.0f} cm² in all, is {verdict} "
            "the limit of {most} emblems of {limit:.0f} cm², {all:.0f} cm² in all (NFPA 2112)."
        ).format(
            n=mark.n_marks, each=each, total=total, verdict=verdict, most=FLAME_EMBLEMS,
            limit=FLAME_EMBLEM_CM2, all=FLAME_ALL_CM2,
        )
    ]  # fmt: skip
    if each > FLAME_UNTESTED_CM2:
        lines.append(
            _("Over {limit:.0f} cm²: an emblem to be tested under EN ISO 11612.").format(
                limit=FLAME_UNTESTED_CM2
            )
        )
    if mark.fibre:
        lines.append(
            _("Thread is {fibre}; sewing thread must itself resist flame and not melt.").format(
                fibre=mark.fibre
            )
        )
    return lines


def _nightwear(mark: SewnMark) -> str:
    longest = max(mark.width_mm, mark.height_mm)
    area = mark.width_mm * mark.height_mm * mark.n_marks / MM2_PER_CM2
    free = longest < NIGHTWEAR_LONGEST_MM and area <= NIGHTWEAR_ALL_CM2
    verdict = _("below") if free else _("not below")
    return _(
        "Children's nightwear: embroidery is trim; {longest:.0f} mm and {area:.0f} cm² is "
        "{verdict} {limit:.0f} mm and {all:.0f} cm² in all (16 CFR 1615, 1616)."
    ).format(
        longest=longest, area=area, verdict=verdict, limit=NIGHTWEAR_LONGEST_MM,
        all=NIGHTWEAR_ALL_CM2,
    )  # fmt: skip
