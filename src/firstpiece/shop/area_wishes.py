"""A person's wishes for an area, written as words: ``3: satin, columns 0.35, underlay zigzag``.

Input: texts, each an area's number and its wishes. Output: ``StitchSpec`` by area. Every wish of
``StitchSpec`` has its words here, so that what the page can ask the command line can too.
"""

from __future__ import annotations

import math
from dataclasses import fields, replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Any, TypeVar

from firstpiece.errors import InputError
from firstpiece.model.stitch import (
    Motif,
    Relief,
    RowCourse,
    RunKind,
    StitchSpec,
    StitchType,
    Underlay,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from enum import StrEnum

    Wish = dict[str, Any]

# Lengths [mm] a wish may name, by word: field, least, most.
LENGTHS = {
    "rows": ("row_spacing_mm", 0.15, 5.0),
    "columns": ("column_spacing_mm", 0.15, 5.0),
    "stitch": ("stitch_length_mm", 1.0, 12.0),
    "pull": ("pull_mm", 0.0, 2.0),
    "feather": ("feather_mm", 0.0, 30.0),
    "tie": ("tie_mm", 0.0, 20.0),
}
CHOICES: dict[str, tuple[str, type[StrEnum]]] = {
    "run": ("run", RunKind),
    "motif": ("motif", Motif),
    "relief": ("relief", Relief),
    "course": ("course", RowCourse),
}
K = TypeVar("K", bound="StrEnum")


def read_wishes(texts: Iterable[str]) -> dict[int, StitchSpec]:
    """Return the wishes by area; several texts for one area add up.

    Parameters
    ----------
    texts : iterable of str
        ``AREA: WISH, WISH…``. A wish is a stitch type (running, satin, fill) or a word and its
        value: ``rows``, ``columns``, ``stitch``, ``pull``, ``feather``, ``tie`` a length in mm;
        ``angle`` degrees; ``order`` a number; ``underlay`` kinds joined by ``+``;
        ``run``, ``motif``,
        ``relief``, ``course`` a kind; ``guide X Y DEGREES``; ``fade THREAD`` or
        ``fade THREAD at DEGREES``.

    Raises
    ------
    InputError
        When a text cannot be read, or a value is out of range.
    """
    specs: dict[int, StitchSpec] = {}
    for text in texts:
        number, colon, wishes = text.partition(":")
        if not colon or not number.strip().isdigit():
            msg = _("“{text}” names no area").format(text=text)
            raise InputError(
                msg,
                where=_("a wish for an area"),
                remedy=_("write it like “3: satin, columns 0.4”"),
            )
        area = int(number)
        spec = specs.get(area, StitchSpec())
        for wish in wishes.split(","):
            spec = _with_wish(spec, " ".join(wish.split()))
        specs[area] = spec
    return specs


def merge_wishes(own: StitchSpec, wish: StitchSpec) -> StitchSpec:
    """Return a wish over what an area was wished before."""
    said = {f.name: v for f in fields(wish) if (v := getattr(wish, f.name)) is not None}
    return replace(own, **said)


def _with_wish(spec: StitchSpec, wish: str) -> StitchSpec:
    word, _space, value = wish.partition(" ")
    if word in tuple(StitchType) and not value:
        return replace(spec, stitch_type=StitchType(word))
    if word in LENGTHS:
        name, least, most = LENGTHS[word]
        return _set(spec, name, _number(wish, value, least, most))
    if word in CHOICES:
        name, kind = CHOICES[word]
        return _set(spec, name, _kind(wish, value, kind))
    reader = READERS.get(word)
    if reader is None:
        words = [*StitchType, *LENGTHS, *CHOICES, *READERS]
        msg = _("“{wish}” is not something an area can be asked").format(wish=wish)
        remedy = _("ask for one of: {words}").format(words=", ".join(words))
        raise InputError(msg, where=_("a wish for an area"), remedy=remedy)
    return reader(spec, wish, value)


def _set(spec: StitchSpec, name: str, value: object) -> StitchSpec:
    wish: Wish = {name: value}
    return replace(spec, **wish)


def _number(wish: str, value: str, least: float, most: float) -> float:
    try:
        number = float(value.removesuffix("mm"))
    except ValueError:
        number = math.nan
    if not least <= number <= most:
        msg = _("“{wish}” is out of range").format(wish=wish)
        remedy = _("give a number from {least:g} to {most:g}").format(least=least, most=most)
        raise InputError(msg, where=_("a wish for an area"), remedy=remedy)
    return number


def _kind(wish: str, value: str, kind: type[K]) -> K:
    try:
        return kind(value)
    except ValueError as fault:
        msg = _("“{wish}” is no kind that is known").format(wish=wish)
        remedy = _("choose one of: {words}").format(words=", ".join(kind))
        raise InputError(msg, where=_("a wish for an area"), remedy=remedy) from fault


def _angle(spec: StitchSpec, wish: str, value: str) -> StitchSpec:
    return replace(spec, angle_rad=math.radians(_number(wish, value, -360, 360)))


def _order(spec: StitchSpec, wish: str, value: str) -> StitchSpec:
    return replace(spec, order=round(_number(wish, value, 0, 100_000)))


def _underlay(spec: StitchSpec, wish: str, value: str) -> StitchSpec:
    kinds = tuple(_kind(wish, part.strip(), Underlay) for part in value.split("+"))
    return replace(spec, underlay=kinds)


def _guide(spec: StitchSpec, wish: str, value: str) -> StitchSpec:
    parts = value.split()
    if len(parts) != 3:
        msg = _("“{wish}” needs a place and a direction").format(wish=wish)
        raise InputError(
            msg, where=_("a wish for an area"), remedy=_("write it like “guide 10 -5 45”")
        )
    x, y, degrees = (_number(wish, part, -2000, 2000) for part in parts)
    return replace(spec, guides=(*(spec.guides or ()), (x, y, math.radians(degrees))))


def _fade(spec: StitchSpec, wish: str, value: str) -> StitchSpec:
    thread, _at, degrees = value.partition(" at ")
    if not thread:
        msg = _("“{wish}” names no thread").format(wish=wish)
        raise InputError(
            msg, where=_("a wish for an area"), remedy=_("write it like “fade marigold at 90”")
        )
    angle = math.radians(_number(wish, degrees, -360, 360)) if degrees else 0.0
    return replace(spec, fade_to=thread, fade_angle_rad=angle)


READERS: dict[str, Callable[[StitchSpec, str, str], StitchSpec]] = {
    "angle": _angle, "order": _order, "underlay": _underlay, "guide": _guide, "fade": _fade,
}  # fmt: skip
