"""A machine's byte records back to a stitch plan, by the shop's own record layout.

Whatever does not follow the layout is refused with the offset of its first byte; reading takes one
pass over the bytes, so no file can make it hang.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.errors import LayoutError
from firstpiece.files.record_fields import check_fields, fields_length
from firstpiece.files.record_program import LETTERS
from firstpiece.kernels.record_decode import FormTables, decode_records
from firstpiece.model.material import ThreadColor
from firstpiece.model.stitch import Action, StitchPlan

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.files.record_form import RecordForm
    from firstpiece.files.record_layout import RecordLayout

MOST_THREADS = 1000
GREY = (128, 128, 128)
USUAL_TEX = 26.7


def read_program(
    data: bytes, layout: RecordLayout, *, threads: tuple[ThreadColor, ...] = ()
) -> StitchPlan:
    """Return the plan held in bytes that follow the layout.

    Parameters
    ----------
    data : bytes
    layout : RecordLayout
    threads : tuple of ThreadColor
        Colours in the order of use; grey ones are made up for what is missing.

    Raises
    ------
    LayoutError
        With the byte offset: cut off, unknown record, wrong literal or checksum.
    """
    start, tail = fields_length(layout.header), fields_length(layout.footer)
    if len(data) < start + tail:
        raise _fault(
            len(data),
            _("the file has {n} bytes but header and footer alone take {least}").format(
                n=len(data), least=start + tail
            ),
            _("the file is cut off; copy it anew"),
        )
    body = data[start : len(data) - tail]
    rows, n_read = _read_records(body, start, layout)
    check_fields(layout.header, data[:start], body[:n_read], b"")
    footer = data[len(data) - tail :]
    check_fields(layout.footer, footer, body[:n_read], data[: len(data) - tail])
    return _plan_from_rows(rows, layout, threads)


def _read_records(body: bytes, start: int, layout: RecordLayout) -> tuple[NDArray[np.int64], int]:
    """Return the rows of the records, and how many bytes they take."""
    per_byte = 8 // layout.cell_bits
    cells = unpack_cells(body, layout.cell_bits)
    end_form = next((i for i, f in enumerate(layout.forms) if f.action == Action.END), -1)
    rows, stop = decode_records(cells, form_tables(layout.forms), end_form)
    is_ended = len(rows) > 0 and layout.forms[int(rows[-1, 0])].action == Action.END
    offset = start + stop // per_byte
    if stop < len(cells) and not is_ended:
        found = body[stop // per_byte :][:4].hex(" ")
        raise _fault(
            offset,
            _("no record of the layout begins with {bytes}").format(bytes=found),
            _("add that record to the layout"),
        )
    if end_form >= 0 and not is_ended:
        what = _("the program breaks off before its end record")
        raise _fault(offset, what, _("the file is cut off; copy it anew"))
    return rows, -(-stop // per_byte)


@dataclass(frozen=True, slots=True)
class RecordSpan:
    """Where a record lies in a file, and what it says; records of nibbles may share a byte."""

    offset: int
    end: int
    words: str


def record_spans(data: bytes, layout: RecordLayout) -> tuple[RecordSpan, ...]:
    """Return the records of a program one by one, for a reader who wants to see the bytes.

    Raises
    ------
    LayoutError
    """
    start, tail = fields_length(layout.header), fields_length(layout.footer)
    rows, _n = _read_records(data[start : len(data) - tail], start, layout)
    per_byte = 8 // layout.cell_bits
    spans = []
    for form_number, x, y, thread, cell in rows.tolist():
        form = layout.forms[form_number]
        words = form.action.word
        if form.moves:
            words += f" x {x:+d} y {y:+d}"
        if "t" in form.numbers:
            words += f" t {thread}"
        end = start + -(-(cell + form.length) // per_byte)
        spans.append(RecordSpan(start + cell // per_byte, end, words))
    return tuple(spans)


def unpack_cells(body: bytes, cell_bits: int) -> NDArray[np.uint8]:
    """Return bytes as cells; a byte's high nibble comes first."""
    data = np.frombuffer(body, dtype=np.uint8)
    if cell_bits == 8:
        return data
    cells = np.empty(2 * len(data), dtype=np.uint8)
    cells[0::2], cells[1::2] = data >> 4, data & 15
    return cells


def form_tables(forms: tuple[RecordForm, ...]) -> FormTables:
    """Return the forms as the arrays that the reading kernel takes."""
    longest = max(f.length for f in forms)
    mask = np.zeros((len(forms), longest), dtype=np.uint8)
    fixed = np.zeros_like(mask)
    bias = np.zeros((len(forms), len(LETTERS)), dtype=np.int64)
    first, bits = [0], []
    for i, form in enumerate(forms):
        mask[i, : form.length] = np.frombuffer(form.mask, dtype=np.uint8)
        fixed[i, : form.length] = np.frombuffer(form.fixed, dtype=np.uint8)
        for field, letter in enumerate(LETTERS):
            if number := form.numbers.get(letter):
                bias[i, field] = number.bias
                pairs = zip(number.places, number.weights, strict=True)
                bits += [(cell, bit, field, weight) for (cell, bit), weight in pairs]
        first.append(len(bits))
    return FormTables(
        np.array([f.length for f in forms], dtype=np.int64),
        mask,
        fixed,
        np.array(first, dtype=np.int64),
        np.array(bits, dtype=np.int64).reshape(-1, 4),
        bias,
    )


def _plan_from_rows(
    rows: NDArray[np.int64], layout: RecordLayout, threads: tuple[ThreadColor, ...]
) -> StitchPlan:
    form = rows[:, 0]
    action = np.array([f.action for f in layout.forms], dtype=np.uint8)[form]
    xy = rows[:, 1:3]
    if layout.is_absolute:
        moves = np.array([f.moves for f in layout.forms], dtype=bool)[form]
        seen = _last_true(moves)
        xy = np.where(seen[:, None] >= 0, xy[np.maximum(seen, 0)], 0)
    else:
        xy = np.cumsum(xy, axis=0)
    thread = np.cumsum(action == Action.COLOR_CHANGE)
    names_thread = np.array(["t" in f.numbers for f in layout.forms], dtype=bool)
    if names_thread.any():
        seen = _last_true(names_thread[form])
        thread = np.where(seen >= 0, rows[np.maximum(seen, 0), 3], 0)
    _check_threads(thread, rows[:, 4], layout)
    n_threads = int(thread.max(initial=0)) + 1
    made_up = tuple(
        ThreadColor(_("thread {n}").format(n=i + 1), GREY, USUAL_TEX)
        for i in range(len(threads), n_threads)
    )
    signs = np.array([layout.x_sign, layout.y_sign])
    return StitchPlan(
        xy_mm=xy * (layout.step_mm * signs),
        action=action,
        thread=thread.astype(np.int16),
        region_id=np.full(len(rows), -1, dtype=np.int32),
        role=np.zeros(len(rows), dtype=np.uint8),
        threads=threads + made_up,
    )


def _check_threads(
    thread: NDArray[np.int64], offset: NDArray[np.int64], layout: RecordLayout
) -> None:
    """Refuse thread numbers that no machine has: the bytes are not of this layout."""
    bad = np.flatnonzero((thread < 0) | (thread >= MOST_THREADS))
    if len(bad):
        at = fields_length(layout.header) + int(offset[bad[0]]) * layout.cell_bits // 8
        raise _fault(
            at,
            _("thread {n} is out of range").format(n=int(thread[bad[0]])),
            _("check that layout and file belong together"),
        )


def _last_true(flags: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return for each row the last row up to it that is true, or -1."""
    last: NDArray[np.int64] = np.maximum.accumulate(np.where(flags, np.arange(len(flags)), -1))
    return last


def _fault(offset: int, what: str, remedy: str) -> LayoutError:
    return LayoutError(what, where=_("byte {n}").format(n=offset), remedy=remedy)
