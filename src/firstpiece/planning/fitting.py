"""Does the design fit the hoop and the machine? Findings that a plan carries from the start."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.finding import Finding, Remedy, Severity
from firstpiece.model.hooping import largest_scale, outline_corners, smallest_hoop
from firstpiece.model.stitch import Action

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Setup


def fitting_findings(
    xy_mm: NDArray[np.float64], action: NDArray[np.int64], threads: list[int], setup: Setup
) -> tuple[Finding, ...]:
    """Return the findings about hoop and needles.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
    action : (n,) int64
    threads : list of int
        The plan's threads.
    setup : Setup
    """
    places = outline_corners(xy_mm[np.isin(action, (Action.STITCH, Action.JUMP))])
    found = []
    if len(places) and setup.hoops and smallest_hoop(places, setup.hoops) is None:
        found.append(_no_hoop(places, setup))
    if len(threads) > setup.machine.needles:
        found.append(_few_needles(len(threads), setup.machine.needles))
    return tuple(found)


def _no_hoop(places: NDArray[np.float64], setup: Setup) -> Finding:
    width_mm, height_mm = (float(v) for v in np.ptp(places, axis=0))
    shares = [(largest_scale(places, hoop), hoop) for hoop in setup.hoops]
    share, hoop = max(shares, key=lambda pair: pair[0])
    clear = int(height_mm * share)
    reason = _(
        "At {width:.0f} × {height:.0f} mm the design clears no hoop of this garment: the needle"
        " would strike the ring. “{hoop}” clears it at {clear} mm high ({clear_width} mm wide);"
        " at this size it takes several hoopings."
    ).format(
        width=width_mm, height=height_mm, hoop=hoop.label, clear=clear,
        clear_width=int(width_mm * share),
    )  # fmt: skip
    remedy = Remedy(_("Sew it {clear} mm high.").format(clear=clear), "height", value=float(clear))
    return Finding(
        "no-hoop-clears",
        Severity.BLOCK,
        reason,
        measured=height_mm,
        limit=height_mm * share,
        unit="mm",
        remedies=(remedy,),
    )


def _few_needles(n_threads: int, n_needles: int) -> Finding:
    reason = _(
        "{threads} threads on {needles} needles: the machine stops for cones to be swapped."
    ).format(threads=n_threads, needles=n_needles)
    remedy = Remedy(_("Use fewer thread colours."), "recolor")
    return Finding(
        "too-few-needles",
        Severity.WARN,
        reason,
        measured=float(n_threads),
        limit=float(n_needles),
        unit="",
        remedies=(remedy,),
    )
