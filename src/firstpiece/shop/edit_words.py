"""Edits written as words, the same on the command line and the page: ``thicken 2 by 0.5mm``.

Input: a sentence. Output: an ``Edit``. An area is its number or a place inside it (``12.5,-3``, in
mm from the middle of the design); clauses may stand in any order.
"""

from __future__ import annotations

import math
import shlex
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import EditError, LengthError
from firstpiece.model.edit import (
    AddRing,
    AreaRef,
    AreaToLine,
    CloseGap,
    DropArea,
    LayArea,
    LineToArea,
    MakeBare,
    MakeEven,
    MakeThread,
    MergeAreas,
    RecolorArea,
    RedrawEdge,
    SetLetters,
    SharpenCorner,
    SmoothEdge,
    SplitArea,
    StraightenLetters,
    SwapThread,
    ThickenArea,
)
from firstpiece.model.lettering import ArcBaseline, CircleBaseline, StraightBaseline
from firstpiece.units import parse_length_mm

if TYPE_CHECKING:
    from collections.abc import Callable

    from firstpiece.model.edit import Edit, Point
    from firstpiece.model.lettering import Baseline

CLAUSES = (
    "along", "in", "for", "by", "to", "at", "within", "of", "below", "above", "behind", "before",
    "round", "with", "high", "arc", "circle", "inside", "turned", "apart", "gap", "replacing",
    "times",
)  # fmt: skip
"""Words that begin a clause; what follows one, up to the next, belongs to it."""

SHIPPED = "Noto Sans Bold"

FORMS = (
    "merge AREAS", "split AREA along PLACES", "drop AREA", "recolor AREA in THREAD",
    "swap THREAD for THREAD", "bare AREA", "sew AREA in THREAD", "thicken AREA by LENGTH",
    "thin AREA by LENGTH", "close AREA [to AREA] within LENGTH",
    "smooth AREA by LENGTH [at PLACE within LENGTH]", "sharpen AREA at PLACE [within LENGTH]",
    "redraw AREA along PLACES", "line AREA [of LENGTH]", "area AREA [of LENGTH]",
    "ring LENGTH in THREAD [behind|before] [round AREAS]", "keep AREA [below AREA]",
    "cut AREA [below AREA]",
    "text TEXT in THREAD high LENGTH [with FONT] [at PLACE] [turned DEGREES] [arc LENGTH]"
    " [circle LENGTH] [inside] [apart LENGTH] [gap LENGTH] [replacing AREAS]",
    "straighten [AREAS]", "even [AREAS] at PLACE [turned DEGREES] [times N]",
)  # fmt: skip
"""Every form, as ``firstpiece edit --forms`` lists them."""


@dataclass(frozen=True, slots=True)
class _Words:
    """A sentence cut into its head and clauses."""

    sentence: str
    head: tuple[str, ...]
    clauses: dict[str, tuple[str, ...]]

    def fault(self, what: str) -> EditError:
        """Return a refusal that shows the form."""
        verb = self.sentence.split(" ", 1)[0]
        forms = [form for form in FORMS if form.split(" ", 1)[0] == verb]
        advice = _("write it like: {form}").format(form=" / ".join(forms or FORMS[:3]))
        return EditError(what, where=self.sentence[:60], remedy=advice)

    def area(self) -> AreaRef:
        """Return the one area the head names."""
        if len(self.head) != 1:
            raise self.fault(_("one area must be named"))
        return self.ref(self.head[0])

    def areas(self, clause: str = "") -> tuple[AreaRef, ...]:
        """Return the areas the head or a clause names; none when it names none."""
        words = self.clauses.get(clause, ()) if clause else self.head
        return tuple(self.ref(word) for word in words if word not in ("and", "with"))

    def ref(self, word: str) -> AreaRef:
        """Return the area a word means."""
        if "," in word:
            return AreaRef(at_mm=self.point(word))
        if not word.isdigit() or len(word) > 6:
            raise self.fault(_("“{word}” names no area").format(word=word[:30]))
        return AreaRef(int(word))

    def point(self, word: str) -> Point:
        """Return the place a word means."""
        parts = word.split(",")
        if len(parts) != 2:
            raise self.fault(_("“{word}” is not a place").format(word=word[:30]))
        return (self.number(parts[0]), self.number(parts[1]))

    def number(self, word: str) -> float:
        """Return the number a word means."""
        try:
            value = float(word)
        except ValueError as fault:
            raise self.fault(_("“{word}” is not a number").format(word=word[:30])) from fault
        if not math.isfinite(value):
            raise self.fault(_("“{word}” is not a number").format(word=word[:30]))
        return value

    def points(self, clause: str) -> tuple[Point, ...]:
        """Return the places of a clause."""
        return tuple(self.point(word) for word in self.clauses.get(clause, ()))

    def place(self, clause: str) -> Point | None:
        """Return the one place of a clause, or None without it."""
        words = self.clauses.get(clause)
        return None if not words else self.point(words[0])

    def length(self, clause: str, default: float | None = None) -> float:
        """Return the length of a clause in mm."""
        words = self.clauses.get(clause)
        if not words:
            if default is None:
                raise self.fault(_("“{clause} …” is missing").format(clause=clause))
            return default
        return self.millimetres(" ".join(words))

    def millimetres(self, text: str) -> float:
        """Return the length a text means; a plain number is millimetres."""
        try:
            return parse_length_mm(text, default_unit="mm")
        except LengthError as fault:
            raise self.fault(fault.what) from fault

    def text(self, clause: str, default: str | None = None) -> str:
        """Return the words of a clause as one name."""
        words = self.clauses.get(clause)
        if not words:
            if default is None:
                raise self.fault(_("“{clause} …” is missing").format(clause=clause))
            return default
        return " ".join(words)

    def degrees(self, clause: str, default: float) -> float:
        """Return the angle of a clause in radians."""
        words = self.clauses.get(clause)
        return math.radians(self.number(words[0]) if words else default)


def read_edit(sentence: str) -> Edit:
    """Return the edit a sentence asks for.

    Parameters
    ----------
    sentence : str
        A verb, what it acts on, and clauses, as in ``FORMS``; names of several words may stand in
        quotes. Lengths without a unit are millimetres.

    Raises
    ------
    EditError
        With the form that was meant.
    """
    try:
        words = shlex.split(sentence)
    except ValueError as fault:
        raise EditError(
            _("a quotation mark is not closed"), where=sentence[:60], remedy=_("close it")
        ) from fault
    if not words or words[0] not in _READERS:
        raise EditError(
            _("“{word}” is no edit").format(word=(words or [""])[0][:30]),
            where=sentence[:60],
            remedy=_("the edits are {verbs}").format(verbs=", ".join(_READERS)),
        )
    head: list[str] = []
    clauses: dict[str, list[str]] = {}
    here = head
    for place, word in enumerate(words[1:], start=1):
        starts = word in CLAUSES and not (words[0] == "text" and not head)
        if starts and not _is_inches(words, place):
            here = clauses.setdefault(word, [])
        else:
            here.append(word)
    parted = _Words(sentence, tuple(head), {k: tuple(v) for k, v in clauses.items()})
    known = {w.strip("[]|") for f in FORMS if f.startswith(words[0] + " ") for w in f.split()}
    known |= {w for part in known for w in part.split("|")}
    odd = [clause for clause in clauses if clause not in known]
    if odd:
        raise parted.fault(_("“{clause}” means nothing here").format(clause=odd[0]))
    return _READERS[words[0]](parted)


def _is_inches(words: list[str], place: int) -> bool:
    """Whether an "in" is the unit of the number before it: nothing or a clause follows it."""
    is_last = place + 1 >= len(words) or words[place + 1] in CLAUSES
    return words[place] == "in" and is_last and words[place - 1][:1] in "0123456789.½¼¾"


def _ring(words: _Words) -> Edit:
    if not words.head:
        raise words.fault(_("the ring's width is missing"))
    return AddRing(
        words.millimetres(" ".join(words.head)),
        words.text("in"),
        words.areas("round"),
        in_front="before" in words.clauses,
    )


def _lay(words: _Words, *, keeps: bool) -> Edit:
    below = words.areas("below")
    return LayArea(words.area(), keeps, below[0] if below else None)


def _close(words: _Words) -> Edit:
    other = words.areas("to")
    return CloseGap(words.area(), words.length("within"), other[0] if other else None)


def _smooth(words: _Words) -> Edit:
    place = words.place("at")
    return SmoothEdge(words.area(), words.length("by"), place, words.length("within", 5.0))


def _sharpen(words: _Words) -> Edit:
    place = words.place("at")
    if place is None:
        raise words.fault(_("“at …” is missing"))
    return SharpenCorner(words.area(), place, words.length("within", 2.0))


def _even(words: _Words) -> Edit:
    place = words.place("at")
    if place is None:
        raise words.fault(_("“at …” is missing"))
    times = words.clauses.get("times", ("0",))
    if not times[0].isdigit() or len(times[0]) > 4:
        raise words.fault(_("“{word}” is not a number").format(word=times[0][:30]))
    return MakeEven(place, words.degrees("turned", 90.0), int(times[0]), words.areas())


def _text(words: _Words) -> Edit:
    if not words.head:
        raise words.fault(_("the text is missing"))
    return SetLetters(
        text=" ".join(words.head),
        font=words.text("with", SHIPPED),
        thread=words.text("in"),
        cap_height_mm=words.length("high"),
        path=_baseline(words),
        spacing_mm=words.length("apart", 0.0),
        least_gap_mm=words.length("gap", 0.0),
        replaces=words.areas("replacing"),
    )


def _baseline(words: _Words) -> Baseline:
    """Return the line the text stands on: straight, or on a circle round the place told."""
    place = words.place("at") or (0.0, 0.0)
    inside = "inside" in words.clauses
    turned = words.degrees("turned", -90.0 if inside else 90.0)
    if "arc" in words.clauses:
        return ArcBaseline(words.length("arc"), place, turned, inside)
    if "circle" in words.clauses:
        return CircleBaseline(words.length("circle"), place, turned, inside)
    return StraightBaseline(place, words.degrees("turned", 0.0))


def _swap(words: _Words) -> Edit:
    if not words.head:
        raise words.fault(_("the thread to be swapped is missing"))
    return SwapThread(" ".join(words.head), words.text("for"))


_READERS: dict[str, Callable[[_Words], Edit]] = {
    "merge": lambda w: MergeAreas(w.areas()),
    "split": lambda w: SplitArea(w.area(), w.points("along")),
    "drop": lambda w: DropArea(w.area()),
    "recolor": lambda w: RecolorArea(w.area(), w.text("in")),
    "swap": _swap,
    "bare": lambda w: MakeBare(w.area()),
    "sew": lambda w: MakeThread(w.area(), w.text("in")),
    "thicken": lambda w: ThickenArea(w.area(), w.length("by")),
    "thin": lambda w: ThickenArea(w.area(), -w.length("by")),
    "close": _close,
    "smooth": _smooth,
    "sharpen": _sharpen,
    "redraw": lambda w: RedrawEdge(w.area(), w.points("along")),
    "line": lambda w: AreaToLine(w.area(), w.length("of", 0.0)),
    "area": lambda w: LineToArea(w.area(), w.length("of", 0.0)),
    "ring": _ring,
    "keep": lambda w: _lay(w, keeps=True),
    "cut": lambda w: _lay(w, keeps=False),
    "text": _text,
    "straighten": lambda w: StraightenLetters(w.areas()),
    "even": _even,
}
