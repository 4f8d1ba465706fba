"""What a person asked of an area, read from the fields of a form into edits.

Input: the name of an edit, the form's fields and the areas as the page shows them. Output: edits
that say which area by its number and a point inside it. What cannot be read gets one sentence.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.errors import EditError, InputError
from firstpiece.model.edit_code import edit_from
from firstpiece.units import parse_length_mm

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from firstpiece.model.edit import Edit

    Object = dict[str, Any]
    Fields = Mapping[str, str]
    Reader = Callable[[Object, Fields], Object]

OUTLINED = "outlined"
OUTLINE_MM = 0.8
MOST_MARKS = 400


def read_edits(kind: str, fields: Fields, areas: Object) -> tuple[Edit, ...]:
    """Return the edits that a form asks for; most ask for one.

    Parameters
    ----------
    kind : str
        An edit's name, or ``outlined`` for an outline in place of a filled area.
    fields : mapping of str to str
        The form's fields as typed.
    areas : dict
        As ``areas_object`` wrote it.

    Raises
    ------
    InputError, EditError, LengthError
    """
    if kind == OUTLINED:
        thread = _area(areas, fields.get("area", ""))["thread"]
        area = _ref(areas, fields.get("area", ""))
        ring = {"edit": "ring", "width_mm": OUTLINE_MM, "thread": thread, "areas": [area],
                "in_front": True}  # fmt: skip
        return (edit_from(ring), edit_from({"edit": "make bare", "area": area}))
    reader = READERS.get(kind)
    if reader is None:
        raise EditError(_("“{name}” is no edit").format(name=kind[:40]))
    return (edit_from({"edit": kind, **reader(areas, fields)}),)


def _area(areas: Object, number: str) -> Object:
    plain = number.strip()
    for area in areas["areas"]:
        if plain == str(area["id"]):
            return dict(area)
    raise InputError(
        _("there is no area {number} here").format(number=plain[:12] or "–"),
        remedy=_("choose one in the picture or from the list"),
    )


def _ref(areas: Object, number: str) -> Object:
    area = _area(areas, number)
    return {"number": area["id"], "at_mm": area["at_mm"]}


def _this(areas: Object, fields: Fields) -> Object:
    return {"area": _ref(areas, fields.get("area", ""))}


def _length(fields: Fields, name: str) -> float:
    return parse_length_mm(fields.get(name, ""), default_unit="mm")


def _points(text: str) -> list[list[float]]:
    """Return places typed or tapped: ``3.5,-2 7,4`` in mm from the middle, y up."""
    points = []
    for word in text.replace(";", " ").split()[:MOST_MARKS]:
        parts = word.split(",")
        try:
            x, y = (float(part) for part in parts)
        except ValueError:
            raise InputError(
                _("“{word}” is not a place").format(word=word[:20]),
                remedy=_("mark it in the picture, or write it like “3.5,-2”"),
            ) from None
        points.append([x, y])
    return points


def _marks(fields: Fields, *, least: int) -> list[list[float]]:
    points = _points(fields.get("marks", ""))
    if len(points) < least:
        raise InputError(
            _("nothing is marked in the picture yet")
            if least == 1
            else _("a line needs two marks or more"),
            remedy=_("switch marking on below the picture and tap where it is to go"),
        )
    return points


def _with_thread(areas: Object, fields: Fields) -> Object:
    return {**_this(areas, fields), "thread": fields.get("thread", "")}


def _merge(areas: Object, fields: Fields) -> Object:
    pair = (fields.get("area", ""), fields.get("other", ""))
    return {"areas": [_ref(areas, number) for number in pair]}


def _line(areas: Object, fields: Fields) -> Object:
    return {**_this(areas, fields), "line_mm": _marks(fields, least=2)}


def _thicken(areas: Object, fields: Fields) -> Object:
    sign = -1.0 if fields.get("way") == "thinner" else 1.0
    return {**_this(areas, fields), "by_mm": sign * _length(fields, "width")}


def _close(areas: Object, fields: Fields) -> Object:
    return {**_this(areas, fields), "width_mm": _length(fields, "width")}


def _smooth(areas: Object, fields: Fields) -> Object:
    here = _marks(fields, least=1)[-1] if fields.get("where") == "mark" else None
    return {**_this(areas, fields), "strength_mm": _length(fields, "width"), "here_mm": here}


def _sharpen(areas: Object, fields: Fields) -> Object:
    return {**_this(areas, fields), "here_mm": _marks(fields, least=1)[-1]}


def _ring(areas: Object, fields: Fields) -> Object:
    chosen = fields.get("area", "")
    return {
        "width_mm": _length(fields, "width"),
        "thread": fields.get("thread", ""),
        "areas": [_ref(areas, chosen)] if chosen else [],
        "in_front": fields.get("way") == "front",
    }


def _lay(areas: Object, fields: Fields) -> Object:
    return {**_this(areas, fields), "keeps": fields.get("way") == "keep"}


def _letters(areas: Object, fields: Fields) -> Object:
    row = fields.get("row", "")
    rows = areas["letters"]
    going = rows[int(row)]["areas"] if row.isdecimal() and int(row) < len(rows) else []
    marks = _points(fields.get("marks", ""))
    return {
        "text": fields.get("text", ""),
        "font": fields.get("font", ""),
        "thread": fields.get("thread", ""),
        "cap_height_mm": _length(fields, "width"),
        "spacing_mm": _length(fields, "spacing"),
        "path": _baseline(fields, marks, [_area(areas, str(n)) for n in going]),
        "replaces": [_ref(areas, str(n)) for n in going],
    }


def _baseline(fields: Fields, marks: list[list[float]], going: list[Object]) -> Object:
    """Return where text stands: at the mark, where the letters stood, or at the middle."""
    x, y = 0.0, 0.0
    if marks:
        x, y = marks[-1]
    elif going:
        boxes = [area["box_mm"] for area in going]
        x = 0.5 * (min(b[0] for b in boxes) + max(b[2] for b in boxes))
        y = sorted(b[1] for b in boxes)[len(boxes) // 2]
    if fields.get("path") != "arc":
        return {"kind": "straight", "middle_mm": [x, y]}
    radius = _length(fields, "radius")
    return {"kind": "arc", "radius_mm": radius, "centre_mm": [x, y - radius]}


def _straighten(areas: Object, fields: Fields) -> Object:
    row = fields.get("row", "")
    rows = areas["letters"]
    if not row.isdecimal() or int(row) >= len(rows):
        return {"areas": []}
    return {"areas": [_ref(areas, str(rows[int(row)]["areas"][0]))]}


def _even(areas: Object, fields: Fields) -> Object:
    found = areas["symmetries"]
    place = fields.get("symmetry", "")
    if not place.isdecimal() or int(place) >= len(found):
        raise InputError(_("that symmetry was not found"), remedy=_("choose one of those offered"))
    chosen = found[int(place)]
    return {name: chosen[name] for name in ("centre_mm", "angle_rad", "fold")}


def _swap(_areas: Object, fields: Fields) -> Object:
    return {"old": fields.get("old", ""), "thread": fields.get("thread", "")}


READERS: dict[str, Reader] = {
    "merge": _merge,
    "split": _line,
    "drop": _this,
    "recolor": _with_thread,
    "swap thread": _swap,
    "make bare": _this,
    "make thread": _with_thread,
    "thicken": _thicken,
    "close gap": _close,
    "smooth": _smooth,
    "sharpen": _sharpen,
    "redraw": _line,
    "to line": _this,
    "to area": _this,
    "ring": _ring,
    "lay": _lay,
    "text": _letters,
    "straighten": _straighten,
    "even": _even,
}
