"""Edits as plain values for JSON and back, versioned; nothing unchecked comes in.

Input: an ``EditLog`` or an object read from JSON. Output: the other. An object that is no edit, or
holds a number that is not one, is refused in one sentence.
"""

from __future__ import annotations

import math
from dataclasses import MISSING, fields, is_dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.errors import EditError
from firstpiece.model.edit import EDIT_KINDS, AreaRef, EditLog
from firstpiece.model.lettering import ArcBaseline, CircleBaseline, StraightBaseline

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from firstpiece.model.edit import Edit
    from firstpiece.model.lettering import Baseline

VERSION = 1
FARTHEST_MM = 5000.0
MOST_POINTS = 100_000
LONGEST_TEXT = 1000
_BASELINES = {"straight": StraightBaseline, "arc": ArcBaseline, "circle": CircleBaseline}
_KINDS = {kind.kind: kind for kind in EDIT_KINDS}


def log_object(log: EditLog) -> dict[str, Any]:
    """Return a log as plain values."""
    return {
        "version": VERSION,
        "height_mm": log.height_mm,
        "edits": [edit_object(edit) for edit in log.edits],
        "undone": [edit_object(edit) for edit in log.undone],
    }


def log_from(plain: Any) -> EditLog:
    """Return the log of ``log_object``.

    Raises
    ------
    EditError
        When it is no log, or of a newer version.
    """
    if not isinstance(plain, dict):
        raise _not_an_edit(_("this is no list of edits"))
    if plain.get("version") != VERSION:
        raise _not_an_edit(_("these edits are of another version"))
    return EditLog(
        _number(plain.get("height_mm", 0.0)),
        tuple(edit_from(item) for item in _list(plain.get("edits", []))),
        tuple(edit_from(item) for item in _list(plain.get("undone", []))),
    )


def edit_object(edit: Edit) -> dict[str, Any]:
    """Return an edit as plain values; ``edit`` names its kind."""
    plain: dict[str, Any] = {"edit": edit.kind}
    for f in fields(edit):
        plain[f.name] = _plain(getattr(edit, f.name))
    return plain


def edit_from(plain: Any) -> Edit:
    """Return the edit of ``edit_object``; fields left out take their defaults.

    Raises
    ------
    EditError
    """
    if not isinstance(plain, dict) or plain.get("edit") not in _KINDS:
        name = plain.get("edit") if isinstance(plain, dict) else plain
        raise _not_an_edit(_("“{name}” is no edit").format(name=str(name)[:40]))
    kind = _KINDS[plain["edit"]]
    return kind(**_values(kind, {k: v for k, v in plain.items() if k != "edit"}))


def _values(kind: type[Any], plain: Mapping[str, Any]) -> dict[str, Any]:
    known = {f.name: f for f in fields(kind)}
    for name in plain:
        if name not in known:
            raise _not_an_edit(_("an edit has no “{name}”").format(name=name[:40]))
    needed = [n for n, f in known.items() if f.default is f.default_factory is MISSING]
    lacking = [name for name in needed if name not in plain]
    if lacking:
        raise _not_an_edit(_("the edit does not say its “{name}”").format(name=lacking[0]))
    return {name: _READERS[name](value) for name, value in plain.items()}


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, StraightBaseline | ArcBaseline | CircleBaseline):
        name = next(n for n, kind in _BASELINES.items() if isinstance(value, kind))
        return {"kind": name, **{f.name: _plain(getattr(value, f.name)) for f in fields(value)}}
    if is_dataclass(value) and not isinstance(value, type):
        parts = {f.name: _plain(getattr(value, f.name)) for f in fields(value)}
        return {name: part for name, part in parts.items() if part is not None}
    return value


def _not_an_edit(what: str) -> EditError:
    return EditError(what, remedy=_("see the list of edits and what each must say"))


def _list(value: Any) -> list[Any]:
    if not isinstance(value, list | tuple) or len(value) > MOST_POINTS:
        raise _not_an_edit(_("“{value}” is not a list").format(value=str(value)[:40]))
    return list(value)


def _number(value: Any) -> float:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if not is_number or not math.isfinite(value) or abs(value) > FARTHEST_MM:
        raise EditError(
            _("“{value}” is not a length or angle that can be used").format(value=str(value)[:40]),
            remedy=_("give a number of millimetres or radians"),
        )
    return float(value)


def _point(value: Any) -> tuple[float, float]:
    items = _list(value)
    if len(items) != 2:
        raise _not_an_edit(_("“{value}” is not a place").format(value=str(value)[:40]))
    return (_number(items[0]), _number(items[1]))


def _place(value: Any) -> tuple[float, float] | None:
    return None if value is None else _point(value)


def _points(value: Any) -> tuple[tuple[float, float], ...]:
    return tuple(_point(item) for item in _list(value))


def _whole(value: Any) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or abs(value) > 10**9:
        raise _not_an_edit(_("“{value}” is not a whole number").format(value=str(value)[:40]))
    return value


def _text(value: Any) -> str:
    if not isinstance(value, str) or len(value) > LONGEST_TEXT:
        raise _not_an_edit(_("“{value}” is not a name or text").format(value=str(value)[:40]))
    return value


def _truth(value: Any) -> bool:
    if not isinstance(value, bool):
        raise _not_an_edit(_("“{value}” is neither true nor false").format(value=str(value)[:40]))
    return value


def _area(value: Any) -> AreaRef:
    if isinstance(value, int) and not isinstance(value, bool):
        return AreaRef(_whole(value))
    if not isinstance(value, dict) or not value.keys() <= {"number", "at_mm"} or not value:
        raise _not_an_edit(_("“{value}” names no area").format(value=str(value)[:40]))
    number = value.get("number")
    return AreaRef(None if number is None else _whole(number), _place(value.get("at_mm")))


def _other(value: Any) -> AreaRef | None:
    return None if value is None else _area(value)


def _areas(value: Any) -> tuple[AreaRef, ...]:
    return tuple(_area(item) for item in _list(value))


def _baseline(value: Any) -> Baseline:
    if not isinstance(value, dict) or value.get("kind") not in _BASELINES:
        raise _not_an_edit(_("“{value}” is no line for text").format(value=str(value)[:40]))
    kind = _BASELINES[value["kind"]]
    made: Baseline = kind(**_values(kind, {k: v for k, v in value.items() if k != "kind"}))
    return made


_READERS: dict[str, Callable[[Any], Any]] = {
    "angle_rad": _number, "area": _area, "areas": _areas, "below": _other, "by_mm": _number,
    "cap_height_mm": _number, "centre_mm": _point, "fold": _whole, "font": _text,
    "here_mm": _place, "in_front": _truth, "is_inside": _truth, "keeps": _truth,
    "least_gap_mm": _number, "line_mm": _points, "middle_mm": _point, "middle_rad": _number,
    "old": _text, "other": _other, "path": _baseline, "radius_mm": _number, "replaces": _areas,
    "spacing_mm": _number, "start_rad": _number, "strength_mm": _number, "text": _text,
    "thread": _text, "width_mm": _number,
}  # fmt: skip
"""How each field is read; one name means the same thing in every edit."""
