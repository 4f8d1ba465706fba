"""The areas in words: each as one sentence, the chosen one with everything it can be asked.

Input: ``areas.json`` of a run, its result when stitches are planned, and what was asked. Output:
values a template only has to print. No clock, no files.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from gettext import gettext as _
from gettext import ngettext
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    Object = dict[str, Any]

LARGEST_LISTED = 60


@dataclass(frozen=True, slots=True)
class AreaLine:
    """One area in the list: its number, its colour and its sentence."""

    number: int
    hex: str
    name: str
    words: str
    is_chosen: bool = False


def describe_list(
    areas: Object, result: Object | None, *, chosen: int | None
) -> tuple[tuple[AreaLine, ...], tuple[AreaLine, ...]]:
    """Return every area as a line, the largest first, split into those shown and the rest."""
    treatments = _treatments(result)
    rising = sorted(areas["areas"], key=lambda a: (-a["area_mm2"], a["id"]))
    lines = [
        AreaLine(
            area["id"],
            area["hex"],
            area_name(area),
            area_sentence(area, treatments.get(area["id"])),
            area["id"] == chosen,
        )
        for area in rising
    ]
    return tuple(lines[:LARGEST_LISTED]), tuple(lines[LARGEST_LISTED:])


def describe_chosen(
    areas: Object, result: Object | None, number: int, *, rack: Iterable[str]
) -> Object | None:
    """Return the chosen area with what a person can ask of it; None when there is none such."""
    area = next((a for a in areas["areas"] if a["id"] == number), None)
    if area is None:
        return None
    treatment = _treatments(result).get(number)
    by_number = {a["id"]: a for a in areas["areas"]}
    return {
        **area,
        "name": area_name(area),
        "words": area_sentence(area, treatment),
        "reason": treatment["reason"] if treatment else "",
        "treatment": treatment,
        "angle": round(math.degrees(treatment["angle_rad"] or 0.0)) % 180 if treatment else 0,
        "others": [
            (n, _("{name}, {what}").format(name=area_name(by_number[n]), what=thread_words(
                by_number[n]
            )))
            for n in area["touches"]
        ],
        "rack": _rack_words(rack, area["thread"]),
    }  # fmt: skip


def area_name(area: Object) -> str:
    """Return what an area is called on the page and on paper."""
    return _("Area {n}").format(n=area["id"])


def thread_words(area: Object) -> str:
    """Return an area's thread, or that it is cloth."""
    return _("bare cloth") if area["is_bare"] else str(area["thread"])


def area_sentence(area: Object, treatment: Object | None) -> str:
    """Return an area in one clause: its thread, where it lies, its size, how it is sewn."""
    left, bottom, right, top = area["box_mm"]
    digits = 1 if min(right - left, top - bottom) < 3 else 0
    size = f"{right - left:.{digits}f} × {top - bottom:.{digits}f} mm"
    plain = _("{thread}, {place}, {size}").format(
        thread=thread_words(area), place=area["place"], size=size
    )
    how = _("a line") if area["is_line"] else ""
    if treatment is not None:
        how = treatment_words(treatment)
    return f"{plain}, {how}" if how else plain


def treatment_words(treatment: Object) -> str:
    """Return how an area is sewn in a few words."""
    spacing = treatment["spacing_mm"] or 0.0
    kind = treatment["stitch_type"]
    if kind == "fill":
        return _("filled, rows {mm:.2f} mm apart").format(mm=spacing)
    if kind == "satin":
        return _("a satin column, {mm:.2f} mm column spacing").format(mm=spacing)
    return _("a running line, stitches {mm:.1f} mm long").format(
        mm=treatment["stitch_length_mm"] or 0.0
    )


def describe_whole(areas: Object) -> Object:
    """Return what can be asked of the whole design: letters found, symmetries offered."""
    return {
        "letters": [
            ngettext("{n} letter, {mm:.1f} mm high", "{n} letters, {mm:.1f} mm high",
                     row["letters"]).format(n=row["letters"], mm=row["height_mm"])
            for row in areas["letters"]
        ],
        "letter_rows": areas["letters"],
        "symmetries": [_symmetry_words(found) for found in areas["symmetries"]],
    }  # fmt: skip


def _symmetry_words(found: Object) -> str:
    if found["fold"]:
        words = _("the same {n} times in a turn, edges now {mm:.2f} mm off")
        return words.format(n=found["fold"], mm=found["error_mm"])
    degrees = round(math.degrees(found["angle_rad"])) % 180
    words = _("left and right alike, edges now {mm:.2f} mm off")
    if abs(degrees - 90) > 1:
        words = _("alike on both sides of a line at {degrees}°, edges now {mm:.2f} mm off")
    return words.format(mm=found["error_mm"], degrees=degrees)


def _treatments(result: Object | None) -> dict[int, Object]:
    if result is None:
        return {}
    return {t["region_id"]: t for t in result["plan"]["treatments"]}


def _rack_words(rack: Iterable[str], own: str) -> Sequence[tuple[str, bool]]:
    return [(name, name == own) for name in rack]
