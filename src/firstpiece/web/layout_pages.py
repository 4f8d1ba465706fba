"""The page that describes a machine's byte records: fill in the manual's table, watch the bytes.

Input: a form with one row for each kind of record, or the text of a layout. Output: the layout's
text, its faults by line, and a small sample as bytes with what they mean.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import Response

from firstpiece.model.stitch import Action
from firstpiece.shop.layout_guide import LayoutDraft, LayoutView, view_draft, view_layout
from firstpiece.web.shop_forms import Typed, TypedForm, Words
from firstpiece.web.site import OurForm, SiteParts

if TYPE_CHECKING:
    from firstpiece.web.site import Site

router = APIRouter()

HEADER_ROWS = 4
NUMBER_FORMS = ("two's complement", "sign and size", "unsigned")
HEADER_KINDS = ("text", "hex", "value")

BEGINNING = {
    "name": "our machine", "step_mm": "0.1", "x": "right", "y": "up", "moves": "relative",
    "stitch": "0xxxxxxx yyyyyyyy", "jump": "100xxxxx xxxxxxyy yyyyyyyy y-------",
    "trim": "11000001", "color_change": "11000010", "stop": "11000011", "end": "11001111",
    "numbers": NUMBER_FORMS[0], "kind_0": "text", "held_0": "START", "kind_1": "value",
    "held_1": "stitches", "bytes_1": "7",
}  # fmt: skip
"""What the form holds when it is opened: an invented machine."""


@dataclass(frozen=True, slots=True)
class RecordRow:
    """One row of the form: the action's word in the file, and in plain words."""

    word: str
    label: str


def record_rows() -> tuple[RecordRow, ...]:
    """Return the rows of the form, one for each action."""
    labels = {
        Action.STITCH: _("A stitch"),
        Action.JUMP: _("A move without a stitch"),
        Action.TRIM: _("A trim"),
        Action.COLOR_CHANGE: _("A thread change"),
        Action.STOP: _("A stop"),
        Action.END: _("The end"),
    }
    return tuple(RecordRow(action.word, label) for action, label in labels.items())


@router.get("/layouts")
def show_layouts(site: SiteParts) -> Response:
    """Show the form with an invented machine filled in, and its bytes."""
    typed = Typed(Words(BEGINNING))
    return _screen(site, typed, view_draft(read_draft(typed)))


@router.post("/layouts/table", dependencies=[OurForm])
def show_table(site: SiteParts, typed: TypedForm) -> Response:
    """Show what the filled-in table gives."""
    return _screen(site, typed, view_draft(read_draft(typed)))


@router.post("/layouts/text", dependencies=[OurForm])
def show_text(site: SiteParts, typed: TypedForm) -> Response:
    """Check a layout's text that was edited or pasted."""
    return _screen(site, typed, view_layout(typed.words["text"]))


@router.post("/layouts/file", dependencies=[OurForm])
def save_file(site: SiteParts, typed: TypedForm) -> Response:
    """Hand out the text as a file; one with faults is shown instead."""
    view = view_layout(typed.words["text"])
    if view.faults:
        return _screen(site, typed, view)
    headers = {"Content-Disposition": 'attachment; filename="layout.toml"'}
    return Response(view.text, media_type="application/toml", headers=headers)


def read_draft(typed: Typed) -> LayoutDraft:
    """Return the draft that the form's fields hold; empty rows are left out."""
    step = typed.text("step_mm").replace(",", ".")
    head: dict[str, object] = {key: typed.text(key) for key in ("name", "x", "y", "moves")}
    head["step_mm"] = float(step) if step.replace(".", "", 1).isdecimal() else step
    records = [_record(row.word, typed) for row in record_rows() if typed.text(row.word)]
    header = [_header(k, typed) for k in range(HEADER_ROWS) if typed.text(f"held_{k}")]
    return LayoutDraft(head=head, records=records, header=header)


def _record(word: str, typed: Typed) -> dict[str, object]:
    pattern = typed.text(word)
    how = typed.text("numbers")
    record: dict[str, object] = {"action": word, "pattern": pattern}
    record.update({letter: how for letter in "xy" if letter in pattern and how})
    if "t" in pattern:
        record["t"] = "unsigned"
    return record


def _header(k: int, typed: Typed) -> dict[str, object]:
    kind, held, size = (typed.text(f"{name}_{k}") for name in ("kind", "held", "bytes"))
    if kind != "value":
        return {kind if kind in HEADER_KINDS else "text": held}
    length = int(size) if size.isascii() and size.isdecimal() and len(size) < 6 else size
    return {"value": held, "form": "text", "bytes": length, "pad": "0"}


def _screen(site: Site, typed: Typed, view: LayoutView) -> Response:
    return site.render.page(
        "layouts.html",
        status=422 if view.faults else 200,
        place="/layouts",
        typed=typed.words or Words(),
        view=view,
        faults=[str(fault) for fault in view.faults],
        rows=record_rows(),
        header_rows=range(HEADER_ROWS),
        header_kinds=HEADER_KINDS,
        number_forms=NUMBER_FORMS,
    )
