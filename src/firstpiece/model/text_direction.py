"""In which direction text runs: the bidirectional algorithm for one line, without explicit marks.

In: a line in the order in which it is typed. Out: its runs in the order in which they stand on
paper from left to right. Classes of letters come from the standard library's Unicode tables.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

STRONG_RTL = {"R", "AL"}
_NEUTRAL = {"B", "S", "WS", "ON", "BN", "LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI",
    "PDI"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class DirectedRun:
    """A piece of a line in one direction; ``text`` is in the order in which it is typed."""

    text: str
    is_right_to_left: bool


def is_right_to_left(text: str) -> bool:
    """Return whether a line begins at the right: its first strong letter runs that way (P2, P3)."""
    for sign in text:
        kind = unicodedata.bidirectional(sign)
        if kind == "L":
            return False
        if kind in STRONG_RTL:
            return True
    return False


def has_right_to_left(text: str) -> bool:
    """Return whether any letter of a text runs from right to left."""
    return any(unicodedata.bidirectional(sign) in STRONG_RTL for sign in text)


def visual_runs(text: str, *, right_to_left: bool | None = None) -> tuple[DirectedRun, ...]:
    """Return the runs of a line from left to right.

    Parameters
    ----------
    text : str
        One line as typed.
    right_to_left : bool or None
        Direction of the paragraph; None takes that of the first strong letter.

    Notes
    -----
    Rules P2–P3, W1–W7, N1–N2, I1–I2, L1 and L2. Explicit embeddings are not looked at, and paired
    brackets are treated as other neutrals (rule N0 is left out).

    References
    ----------
    Unicode Standard Annex 9, Unicode Bidirectional Algorithm.
    """
    if not text:
        return ()
    start = is_right_to_left(text) if right_to_left is None else right_to_left
    base = 1 if start else 0
    kinds = [unicodedata.bidirectional(sign) or "L" for sign in text]
    levels = _levels(_resolve_neutrals(_resolve_weak(kinds, base), base), base)
    # L1: blanks at the end of the line stand where the paragraph ends.
    for i in range(len(text) - 1, -1, -1):
        if kinds[i] not in {"WS", "S", "B"}:
            break
        levels[i] = base
    return _reorder(text, levels)


def _resolve_weak(kinds: list[str], base: int) -> list[str]:
    """Return the classes after rules W1 to W7."""
    out = list(kinds)
    before = strong = "R" if base else "L"
    for i, kind in enumerate(out):
        if kind == "NSM":
            out[i] = before
        if out[i] in {"L", *STRONG_RTL}:
            strong = out[i]
        if out[i] == "EN" and strong == "AL":
            out[i] = "AN"
        before = out[i]
    out = ["R" if kind == "AL" else kind for kind in out]
    for i in range(1, len(out) - 1):
        pair = (out[i - 1], out[i + 1])
        if (out[i] == "ES" and pair == ("EN", "EN")) or (
            out[i] == "CS" and pair in {("EN", "EN"), ("AN", "AN")}
        ):
            out[i] = pair[0]
    _spread_terminators(out)
    out = ["ON" if kind in {"ES", "ET", "CS"} else kind for kind in out]
    strong = "R" if base else "L"
    for i, kind in enumerate(out):
        strong = kind if kind in {"L", "R"} else strong
        if kind == "EN" and strong == "L":
            out[i] = "L"
    return out


def _spread_terminators(kinds: list[str]) -> None:
    """Turn signs such as % and currency beside a number into part of it (W5), in place."""
    i = 0
    while i < len(kinds):
        end = i
        while end < len(kinds) and kinds[end] == "ET":
            end += 1
        beside = kinds[i - 1 : i] + kinds[end : end + 1]
        if end > i and "EN" in beside:
            kinds[i:end] = ["EN"] * (end - i)
        i = max(end, i + 1)


def _resolve_neutrals(kinds: list[str], base: int) -> list[str]:
    """Return the classes after rules N1 and N2: L, R, EN and AN alone are left."""
    out = list(kinds)
    paragraph = "R" if base else "L"
    i = 0
    while i < len(out):
        end = i
        while end < len(out) and out[end] in _NEUTRAL:
            end += 1
        if end > i:
            left = _side(out[i - 1]) if i else paragraph
            right = _side(out[end]) if end < len(out) else paragraph
            out[i:end] = [left if left == right else paragraph] * (end - i)
        i = max(end, i + 1)
    return out


def _side(kind: str) -> str:
    """Return the direction a class lends to neutrals; numbers count as R (N1)."""
    return "L" if kind == "L" else "R"


def _levels(kinds: list[str], base: int) -> list[int]:
    """Return embedding levels by rules I1 and I2."""
    if base:
        return [1 if kind == "R" else 2 for kind in kinds]
    return [{"L": 0, "R": 1}.get(kind, 2) for kind in kinds]


def _reorder(text: str, levels: list[int]) -> tuple[DirectedRun, ...]:
    """Return runs of one level in the order of rule L2."""
    runs: list[tuple[int, str]] = []
    for sign, level in zip(text, levels, strict=True):
        if runs and runs[-1][0] == level:
            runs[-1] = (level, runs[-1][1] + sign)
        else:
            runs.append((level, sign))
    for level in range(max(levels), 0, -1):
        i = 0
        while i < len(runs):
            end = i
            while end < len(runs) and runs[end][0] >= level:
                end += 1
            runs[i:end] = runs[i:end][::-1]
            i = max(end, i + 1)
    return tuple(DirectedRun(text, level % 2 == 1) for level, text in runs)
