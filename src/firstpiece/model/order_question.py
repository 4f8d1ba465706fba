"""What was asked about an order, point by point, and what the answers mean for the next design.

A point has a letter, and numbered choices or room for free words. An answer names the point by its
letter; its effect is kept as figures, so that it still holds when words have been erased.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from firstpiece.model.question import Choice

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from firstpiece.model.material import RGB


@dataclass(frozen=True, slots=True)
class AskedPoint:
    """One point as it was asked.

    Parameters
    ----------
    letter : str
    code : str
        Of a picture's question, or ``height``, ``sizes``, ``color``, ``pieces``, ``placement``,
        ``due``, ``cover``, ``postage``.
    about : str
        What it is about, the same whenever it is asked: a colour, two threads, a line's number.
    text : str
    choices : tuple of Choice
        Empty for free words; else the first is what happens without an answer.
    picture : str
        Hash of the picture it is about; empty for a point of the order.
    """

    letter: str
    code: str
    about: str
    text: str
    choices: tuple[Choice, ...] = ()
    picture: str = ""

    def figures(self) -> dict[str, Any]:
        """Return the point as plain values."""
        choices = [{"label": c.label, "effect": c.effect, "value": c.value} for c in self.choices]
        return {
            "letter": self.letter,
            "code": self.code,
            "about": self.about,
            "text": self.text,
            "choices": choices,
            "picture": self.picture,
        }


@dataclass(frozen=True, slots=True)
class SettledPoint:
    """An answer's effect; ``effect`` is ``said`` for free words."""

    code: str
    about: str
    picture: str
    effect: str
    value: float | str | None = None


@dataclass(frozen=True, slots=True)
class Wishes:
    """What answers ask of the next design.

    Parameters
    ----------
    height_mm : float or None [mm]
    bare_colors : tuple of RGB
        Colours of the art to leave as cloth.
    merged : tuple of (str, str)
        Threads to replace, each with the thread that takes its areas.
    """

    height_mm: float | None = None
    bare_colors: tuple[RGB, ...] = ()
    merged: tuple[tuple[str, str], ...] = ()


def points_from(plain: Iterable[Mapping[str, Any]]) -> tuple[AskedPoint, ...]:
    """Return the points of their figures."""
    return tuple(
        AskedPoint(**{**point, "choices": tuple(Choice(**c) for c in point["choices"])})
        for point in plain
    )


def settle(
    settled: tuple[SettledPoint, ...], figures: Mapping[str, Any]
) -> tuple[SettledPoint, ...]:
    """Return the settled points with one more; a later answer replaces an earlier one."""
    names = ("code", "about", "picture", "effect", "value")
    new = SettledPoint(**{name: figures[name] for name in names})
    same = (new.code, new.about, new.picture)
    return (*(s for s in settled if (s.code, s.about, s.picture) != same), new)


def wishes_for(settled: tuple[SettledPoint, ...], picture: str) -> Wishes:
    """Return what the answers about a picture ask of the next design made from it."""
    mine = [s for s in settled if s.picture == picture and s.value is not None]
    heights = [float(s.value or 0.0) for s in mine if s.effect == "height"]
    bare = sorted({_rgb(str(s.value)) for s in mine if s.effect == "bare"})
    merged = dict(str(s.value).split(">") for s in mine if s.effect == "merge")
    return Wishes(
        height_mm=max(heights, default=None),
        bare_colors=tuple(bare),
        merged=tuple((old, _end(merged, old)) for old in merged),
    )


def _end(merged: Mapping[str, str], old: str) -> str:
    """Follow a thread to the one that stays; two that replace each other end with the second."""
    seen = [old]
    while (new := merged.get(seen[-1])) is not None and new not in seen:
        seen.append(new)
    return seen[-1]


def rgb_text(rgb: RGB) -> str:
    """Return a colour as #rrggbb."""
    return "#{:02x}{:02x}{:02x}".format(*rgb)


def _rgb(text: str) -> RGB:
    red, green, blue = bytes.fromhex(text.removeprefix("#"))
    return (red, green, blue)
