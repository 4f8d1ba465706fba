"""The actions a finding offers, worded once: each names the area it changes.

Input: the evidence and an area. Output: a Remedy whose label reads alone in a list.
"""

from __future__ import annotations

import math
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.model.finding import Remedy
from firstpiece.model.stitch import StitchType

if TYPE_CHECKING:
    from firstpiece.forecasting.evidence import Evidence


def set_spacing(evidence: Evidence, region_id: int, spacing_mm: float) -> Remedy:
    """Return the remedy that sews an area at another row or column spacing."""
    treatment = evidence.treatments.get(region_id)
    is_satin = treatment is not None and treatment.stitch_type is StitchType.SATIN
    words = (
        _("Set the satin columns of the {thread} area {mm} mm apart")
        if is_satin
        else _("Set the rows of the {thread} area {mm} mm apart")
    )
    label = words.format(thread=_name(evidence, region_id), mm=f"{spacing_mm:.2f}")
    return Remedy(label, "spacing", region_id, spacing_mm)


def sew_as(evidence: Evidence, region_id: int, stitch_type: StitchType) -> Remedy:
    """Return the remedy that sews an area as another kind of stitching."""
    words = {
        StitchType.FILL: _("Sew the {thread} area as a fill"),
        StitchType.SATIN: _("Sew the {thread} area as a satin column"),
        StitchType.RUNNING: _("Sew the {thread} area as a line"),
    }[stitch_type]
    label = words.format(thread=_name(evidence, region_id))
    return Remedy(label, "stitch_type", region_id, stitch_type.value)


def turn_rows(evidence: Evidence, region_id: int) -> Remedy:
    """Return the remedy that turns an area's rows by 45°."""
    turned = (evidence.treatments[region_id].angle_rad + math.pi / 4) % math.pi
    label = _("Turn the rows of the {thread} area by 45°").format(thread=_name(evidence, region_id))
    return Remedy(label, "angle", region_id, round(turned, 4))


def add_underlay(evidence: Evidence, region_id: int) -> Remedy:
    """Return the remedy that lays a lattice below an area."""
    label = _("Lay a lattice of underlay below the {thread} area").format(
        thread=_name(evidence, region_id)
    )
    return Remedy(label, "underlay", region_id, "lattice")


def widen_area(evidence: Evidence, region_id: int, more_mm: float) -> Remedy:
    """Return the remedy that sets an area's stitches further out at both ends."""
    treatment = evidence.treatments.get(region_id)
    pull = (treatment.pull_mm if treatment is not None else 0.0) + more_mm
    label = _("Sew the {thread} area {mm} mm wider on each side").format(
        thread=_name(evidence, region_id), mm=f"{more_mm:.2f}"
    )
    return Remedy(label, "pull", region_id, round(pull, 2))


def leave_out(evidence: Evidence, region_id: int) -> Remedy:
    """Return the remedy that sews nothing in an area."""
    label = _("Leave out the {thread} area").format(thread=_name(evidence, region_id))
    return Remedy(label, "drop", region_id)


def resize(evidence: Evidence, factor: float) -> Remedy:
    """Return the remedy that sews the whole design ``factor`` times as high, to a full mm."""
    exact = evidence.region_map.height_mm * factor
    height = math.ceil(exact) if factor > 1 else max(1, math.floor(exact))
    label = _("Sew the design {height} mm high").format(height=height)
    return Remedy(label, "height", -1, float(height))


def move_tie(evidence: Evidence, region_id: int, by_mm: float) -> Remedy:
    """Return the remedy that slides an area's ties in along its own path."""
    label = _("Move the tie of the {thread} area {mm} mm in along its own path").format(
        thread=_name(evidence, region_id), mm=f"{by_mm:.1f}"
    )
    return Remedy(label, "tie", region_id, by_mm)


def settle_as_drawn() -> Remedy:
    """Return the remedy that sets all outlines out by the forecast's own draw."""
    return Remedy(_("Set the outlines out so that the piece settles as drawn"), "true_shape")


def thinner_thread() -> Remedy:
    """Return the remedy that changes the kind of thread."""
    return Remedy(_("Use a thinner thread and needle"), "thread")


def sew_swatch(name: str) -> Remedy:
    """Return the remedy that measures what the cards only guess, on a named swatch."""
    words = _("Sew the {swatch} in this thread on this cloth and measure it")
    return Remedy(words.format(swatch=name), "swatch", -1, name)


def other_garment() -> Remedy:
    """Return the remedy that changes the garment's colour."""
    return Remedy(_("Choose a garment of another colour"), "garment")


def _name(evidence: Evidence, region_id: int) -> str:
    return evidence.thread_of(region_id).name
