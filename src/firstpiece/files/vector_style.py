"""What an SVG element looks like: presentation attributes, style rules, colours and gradients.

Input: elements and style sheets. Output: property tables and sRGB colours with opacity.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from PIL import ImageColor

if TYPE_CHECKING:
    from collections.abc import Mapping
    from xml.etree.ElementTree import Element

Style = dict[str, str]
RGBA = tuple[float, float, float, float]
"""sRGB codes 0 to 255 and opacity 0 to 1."""

INHERITED = frozenset(
    {
        "fill", "fill-opacity", "fill-rule", "stroke", "stroke-opacity", "stroke-width",
        "stroke-linecap", "stroke-linejoin", "stroke-miterlimit", "stroke-dasharray",
        "stroke-dashoffset", "color", "visibility", "clip-rule", "font-size",
    }
)  # fmt: skip
PROPERTIES = INHERITED | {
    "opacity", "display", "clip-path", "mask", "filter", "stop-color", "stop-opacity", "overflow",
}  # fmt: skip

UNITS = {"mm": 96 / 25.4, "cm": 96 / 2.54, "in": 96.0, "pt": 96 / 72, "pc": 16.0, "q": 96 / 101.6}

_LENGTH = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([a-zA-Z]+|%)?", re.ASCII)
_COMMENT = re.compile(r"/\*.*?\*/|<!--|-->|<!\[CDATA\[|\]\]>", re.DOTALL)
_BLOCK = re.compile(r"([^{}]+)\{([^{}]*)\}")
_SELECTOR = re.compile(r"(?P<tag>[\w-]+|\*)?(?P<rest>(?:[.#][\w-]+)*)")
_NUMBER = r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?)(%?)\s*"
_RGB_CALL = re.compile(rf"rgba?\({_NUMBER}[, ]{_NUMBER}[, ]{_NUMBER}(?:[,/ ]{_NUMBER})?\)", re.I)


@dataclass(frozen=True, slots=True)
class Rule:
    """One style rule: what it selects and what it sets.

    Parameters
    ----------
    tag, identity : str
        Wanted element name and id; empty for any.
    classes : frozenset of str
        Wanted classes, all of them.
    settings : tuple of (property, value)
    """

    tag: str
    identity: str
    classes: frozenset[str]
    settings: tuple[tuple[str, str], ...]

    @property
    def strength(self) -> tuple[int, int, int]:
        """Specificity: ids, then classes, then element names (CSS 2.2, 6.4.3)."""
        return (bool(self.identity), len(self.classes), bool(self.tag))

    def selects(self, tag: str, element: Element) -> bool:
        """Return True when the rule applies to the element."""
        if self.tag and self.tag != tag:
            return False
        if self.identity and self.identity != element.get("id"):
            return False
        return self.classes <= set((element.get("class") or "").split())


def parse_rules(sheet: str) -> tuple[Rule, ...]:
    """Return the rules with element, class and id selectors, weakest first; others are ignored."""
    rules = []
    for selectors, body in _BLOCK.findall(_COMMENT.sub(" ", sheet)):
        settings = tuple(parse_settings(body).items())
        for selector in selectors.split(","):
            match = _SELECTOR.fullmatch(selector.strip())
            if match is None or not selector.strip():
                continue
            names = re.findall(r"([.#])([\w-]+)", match["rest"])
            tag = match["tag"] or ""
            ids = [n for mark, n in names if mark == "#"]
            classes = frozenset(n for mark, n in names if mark == ".")
            rules.append(Rule("" if tag == "*" else tag, "".join(ids), classes, settings))
    return tuple(sorted(rules, key=lambda rule: rule.strength))


def parse_settings(body: str) -> Style:
    """Return the known properties of a declaration list (``fill: red; stroke: none``)."""
    style: Style = {}
    for part in body.split(";"):
        key, colon, value = part.partition(":")
        if colon and key.strip().lower() in PROPERTIES:
            style[key.strip().lower()] = value.replace("!important", "").strip()
    return style


def style_of(
    element: Element, tag: str, parent: Mapping[str, str], rules: tuple[Rule, ...]
) -> Style:
    """Return the element's properties: inherited, attributes, rules, its own style; last wins."""
    style = {key: value for key, value in parent.items() if key in INHERITED}
    own: Style = {k: v.strip() for k, v in element.attrib.items() if k in PROPERTIES}
    for rule in rules:
        if rule.selects(tag, element):
            own.update(rule.settings)
    own.update(parse_settings(element.get("style", "")))
    for key, value in own.items():
        if value == "inherit":
            own[key] = parent.get(key, "")
    style.update({key: value for key, value in own.items() if value})
    return style


def number_of(text: str | None, default: float, *, whole: float = 1.0) -> float:
    """Return a number, length or percentage (of ``whole``); the default when it is none of them.

    Lengths come in drawing units of 1/96 inch (CSS Values 3, 5.2).
    """
    match = _LENGTH.match(text or "")
    if match is None:
        return default
    unit = (match[2] or "").lower()
    return float(match[1]) * (whole / 100.0 if unit == "%" else UNITS.get(unit, 1.0))


def parse_color(text: str, style: Mapping[str, str]) -> RGBA | None:
    """Return the colour a paint value names, or None for ``none`` and what is not a colour."""
    value = text.strip().lower()
    if value in ("", "none"):
        return None
    if value == "transparent":
        return (0.0, 0.0, 0.0, 0.0)
    if value == "currentcolor":
        own = style.get("color", "black").strip().lower()
        return parse_color("black" if own == "currentcolor" else own, {})
    if match := _RGB_CALL.match(value):
        codes = [float(match[i]) * (255.0 if match[i + 1] else 100.0) / 100.0 for i in (1, 3, 5)]
        alpha = float(match[7]) / (100.0 if match[8] else 1.0) if match[7] else 1.0
        red, green, blue = (min(max(c, 0.0), 255.0) for c in codes)
        return (red, green, blue, min(max(alpha, 0.0), 1.0))
    try:
        codes_8bit = ImageColor.getrgb(value.split(" icc-color")[0])
    except ValueError:
        return None
    alpha = codes_8bit[3] / 255.0 if len(codes_8bit) == 4 else 1.0
    return (float(codes_8bit[0]), float(codes_8bit[1]), float(codes_8bit[2]), alpha)


def mean_stop_color(stops: list[tuple[float, RGBA]]) -> RGBA | None:
    """Return the mean colour along a gradient's length, by the trapezium rule over its stops.

    Parameters
    ----------
    stops : list of (offset, RGBA)
        Offsets 0 to 1 in document order.
    """
    if not stops:
        return None
    rising: list[tuple[float, RGBA]] = []
    for offset, color in stops:
        least = rising[-1][0] if rising else 0.0
        rising.append((min(max(offset, least), 1.0), color))
    rising = [(0.0, rising[0][1]), *rising, (1.0, rising[-1][1])]
    mean = [0.0, 0.0, 0.0, 0.0]
    for (x0, c0), (x1, c1) in pairwise(rising):
        for k in range(4):
            mean[k] += (x1 - x0) * (c0[k] + c1[k]) / 2.0
    return (mean[0], mean[1], mean[2], mean[3])
