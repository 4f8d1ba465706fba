"""Lines in scripts that must be shaped: letters joined, marks placed, right to left in order.

In: a line of text and a weight. Out: the outlines of its glyphs in em, y up, and its width. Only
lines that hold a right-to-left letter come here; the PDF writer sets all others itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files as package_files
from typing import Any

import uharfbuzz
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.transformPen import TransformPen

from firstpiece.model.text_direction import visual_runs

SCRIPT_FONTS = ("NotoSansHebrew", "NotoSansArabic")
_STYLES = {"regular": "Regular", "bold": "Bold", "italic": "Regular"}

PathStep = tuple[str, tuple[tuple[float, float], ...]]


@dataclass(frozen=True, slots=True)
class ShapedLine:
    """Outlines of a line: ``moveTo``, ``lineTo``, ``curveTo`` and ``closePath`` steps [em]."""

    width_em: float
    steps: tuple[PathStep, ...]


@cache
def open_faces(weight: str) -> tuple[Any, ...]:
    """Return the main face and those of the other scripts for one weight."""
    folder = package_files("firstpiece") / "data" / "fonts"
    main = {"regular": "Regular", "bold": "Bold", "italic": "Italic"}[weight]
    names = [f"NotoSans-{main}", *(f"{font}-{_STYLES[weight]}" for font in SCRIPT_FONTS)]
    return tuple(
        uharfbuzz.Font(uharfbuzz.Face((folder / f"{name}.ttf").read_bytes())) for name in names
    )


@cache
def script_codes(weight: str) -> tuple[dict[int, float], ...]:
    """Return, for each face beside the main one, its code points and their widths [em]."""
    found = []
    for font in open_faces(weight)[1:]:
        upem = font.face.upem
        codes = sorted(font.face.unicodes)
        glyphs = ((code, font.get_nominal_glyph(code)) for code in codes)
        found.append({c: font.get_glyph_h_advance(g) / upem for c, g in glyphs if g})
    return tuple(found)


def shape_line(text: str, weight: str) -> ShapedLine:
    """Return the shaped line.

    Parameters
    ----------
    text : str
        One line as typed, of letters that the shipped fonts have.
    weight : str
        ``regular``, ``bold`` or ``italic`` (which right-to-left scripts do not have).
    """
    steps: list[PathStep] = []
    x = 0.0
    for run in visual_runs(text):
        parts = _split_by_face(run.text, weight)
        for part, number in reversed(parts) if run.is_right_to_left else parts:
            x = _shape_part(part, (weight, number, run.is_right_to_left), x, steps)
    return ShapedLine(x, tuple(steps))


def _split_by_face(text: str, weight: str) -> list[tuple[str, int]]:
    """Return pieces of text with the number of the face that has their letters."""
    parts: list[tuple[str, int]] = []
    for sign in text:
        number = next((i for i, codes in enumerate(script_codes(weight), start=1)
            if ord(sign) in codes and not sign.isspace()), 0)  # fmt: skip
        if parts and parts[-1][1] == number:
            parts[-1] = (parts[-1][0] + sign, number)
        else:
            parts.append((sign, number))
    return parts


def _shape_part(text: str, look: tuple[str, int, bool], x: float, steps: list[PathStep]) -> float:
    """Add the outlines of a piece in one face; return the x after it."""
    weight, number, is_right_to_left = look
    font = open_faces(weight)[number]
    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if is_right_to_left else "ltr"
    uharfbuzz.shape(font, buffer)
    scale = 1.0 / font.face.upem
    for info, place in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        pen = DecomposingRecordingPen({})
        at = (scale, 0, 0, scale, x + place.x_offset * scale, place.y_offset * scale)
        font.draw_glyph_with_pen(info.codepoint, TransformPen(pen, at))
        steps.extend(_cubic_steps(pen.value))
        x += place.x_advance * scale
    return x


def _cubic_steps(steps: list[tuple[str, Any]]) -> list[PathStep]:
    """Return pen steps with quadratic curves raised to cubic ones, which PDF knows."""
    out: list[PathStep] = []
    here = (0.0, 0.0)
    for name, points in steps:
        if name == "qCurveTo":
            for i, control in enumerate(points[:-1]):
                last = i == len(points) - 2
                following = points[i + 1]
                end = following if last else _middle(control, following)
                out.append(("curveTo", (_third(here, control), _third(end, control), end)))
                here = end
        else:
            out.append((name, tuple(points)))
            here = points[-1] if points else here
    return out


def _middle(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
    return ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)


def _third(end: tuple[float, float], control: tuple[float, float]) -> tuple[float, float]:
    """Return the cubic control point beside ``end`` of a quadratic curve."""
    return (end[0] + 2 * (control[0] - end[0]) / 3, end[1] + 2 * (control[1] - end[1]) / 3)
