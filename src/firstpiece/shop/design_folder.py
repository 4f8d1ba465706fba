"""A job's folder that can be opened again: the picture and all that was asked, edits included.

Input: a request, or a folder written with one. Output: the files, or the request.
"""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING, Any

from firstpiece.errors import InputError
from firstpiece.files.picture_strip import strip_picture
from firstpiece.files.result_json import write_json
from firstpiece.model.design import options_from, spec_from
from firstpiece.model.edit_code import log_from, log_object
from firstpiece.model.stitch import SewFrom
from firstpiece.shop.prepare import PrepareRequest

if TYPE_CHECKING:
    from collections.abc import Mapping

DESIGN_FILE = "design.json"
_ENDINGS = {b"\x89PNG": ".png", b"\xff\xd8\xff": ".jpg", b"RIFF": ".webp"}
LARGEST_JSON = 32 * 1024 * 1024


def design_files(request: PrepareRequest, font_paths: Mapping[str, str]) -> dict[str, bytes]:
    """Return the files that let a folder be opened again.

    Parameters
    ----------
    request : PrepareRequest
    font_paths : mapping of str to str
        Where the fonts that its edits name were read from.
    """
    endings = [e for mark, e in _ENDINGS.items() if request.data.startswith(mark)]
    picture = f"picture{endings[0] if endings else '.svg'}"
    design = {
        "name": request.name,
        "picture": picture,
        "height_mm": request.height_mm,
        "garment": request.garment,
        "thread": request.thread,
        "backing": request.backing,
        "needle": request.needle,
        "quantity": request.quantity,
        "true_shape": request.true_shape,
        "sew_from": request.sew_from and request.sew_from.value,
        "options": asdict(request.options),
        "specs": {str(n): asdict(spec) for n, spec in sorted(request.specs.items())},
        "edits": log_object(request.edits),
        "fonts": dict(sorted(font_paths.items())),
    }
    return {
        picture: strip_picture(request.data, name=request.name),
        DESIGN_FILE: write_json("design", design).encode(),
    }


def open_design(folder: Path) -> tuple[PrepareRequest, dict[str, str]]:
    """Return the request a folder was made from, and where its fonts are.

    Raises
    ------
    InputError
        When the folder was not written by ``prepare``, or its file was damaged.
    """
    plain = _read_object(folder)
    try:
        fonts = {str(name): str(path) for name, path in plain["fonts"].items()}
        request = PrepareRequest(
            data=(folder / Path(str(plain["picture"])).name).read_bytes(),
            name=str(plain["name"]),
            height_mm=float(plain["height_mm"]),
            garment=str(plain["garment"]),
            thread=str(plain["thread"]),
            backing=str(plain["backing"]),
            needle=int(plain["needle"]),
            quantity=int(plain["quantity"]),
            true_shape=bool(plain["true_shape"]),
            sew_from=SewFrom(plain["sew_from"]) if plain.get("sew_from") else None,
            options=options_from(plain["options"]),
            specs={int(n): spec_from(spec) for n, spec in plain["specs"].items()},
            edits=log_from(plain["edits"]),
        )
    except OSError as fault:
        raise _damaged(folder, _("its picture is missing")) from fault
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        raise _damaged(folder, _("its design.json is damaged")) from fault
    return replace(request, fonts=read_fonts(fonts)), fonts


def read_fonts(paths: Mapping[str, str]) -> dict[str, bytes]:
    """Return font files by name.

    Raises
    ------
    InputError
        When one cannot be read.
    """
    found = {}
    for name, path in paths.items():
        try:
            found[name] = Path(path).read_bytes()
        except OSError as fault:
            reason = (fault.strerror or str(fault)).lower()
            raise InputError(
                _("the font cannot be opened ({reason})").format(reason=reason),
                where=path,
                remedy=_("give the path of a font file"),
            ) from fault
    return found


def _read_object(folder: Path) -> dict[str, Any]:
    path = folder / DESIGN_FILE
    try:
        if path.stat().st_size > LARGEST_JSON:
            raise _damaged(folder, _("its design.json is too large"))
        plain = json.loads(path.read_text("utf-8"))
    except OSError as fault:
        raise InputError(
            _("this is no folder of a job (it has no design.json)"),
            where=str(folder),
            remedy=_("give a folder that a picture was prepared into, or a job's number"),
        ) from fault
    except (ValueError, RecursionError) as fault:
        raise _damaged(folder, _("its design.json is damaged")) from fault
    if not isinstance(plain, dict):
        raise _damaged(folder, _("its design.json is damaged"))
    return plain


def _damaged(folder: Path, what: str) -> InputError:
    return InputError(what, where=str(folder), remedy=_("prepare the picture anew"))
