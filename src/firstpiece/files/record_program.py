"""Stitch plans to a machine's byte records, by the shop's own record layout.

Moves that a layout cannot express in one record are split; positions are rounded to the layout's
step once, from the start, so that rounding never adds up. The way back is ``record_reading``.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from firstpiece.errors import LayoutError
from firstpiece.files.record_fields import fields_length, write_fields
from firstpiece.kernels.record_encode import BitTables, encode_records
from firstpiece.model.stitch import Action, StitchPlan

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.files.record_form import RecordForm
    from firstpiece.files.record_layout import RecordLayout

LETTERS = "xyt"


class Steps(NamedTuple):
    """A plan in the layout's steps: action (n,), position (n, 2), thread (n,)."""

    action: NDArray[np.uint8]
    position: NDArray[np.int64]
    thread: NDArray[np.int64]

    @property
    def move(self) -> NDArray[np.int64]:
        """(n, 2) int64: how far each row moves from the one before."""
        return np.diff(self.position, axis=0, prepend=np.zeros((1, 2), dtype=np.int64))


def write_program(plan: StitchPlan, layout: RecordLayout, *, name: str = "design") -> bytes:
    """Return the plan as the layout's bytes: header, records, footer.

    Raises
    ------
    LayoutError
        When the layout has no record for something the plan does, or a value does not fit.
    """
    steps = split_moves(_in_steps(plan, layout), layout)
    records = _encode(steps, layout)
    values = _header_values(plan, steps, name)
    values["record_bytes"] = len(records)
    header_size = fields_length(layout.header)
    values["file_bytes"] = header_size + len(records) + fields_length(layout.footer)
    header = write_fields(layout.header, values, records, b"")
    return header + records + write_fields(layout.footer, values, records, header + records)


def _in_steps(plan: StitchPlan, layout: RecordLayout) -> Steps:
    signs = np.array([layout.x_sign, layout.y_sign], dtype=np.float64)
    position = np.rint(plan.xy_mm * (signs / layout.step_mm)).astype(np.int64)
    return Steps(plan.action, position, plan.thread.astype(np.int64))


def split_moves(steps: Steps, layout: RecordLayout) -> Steps:
    """Return the rows with jumps put before those whose move no record of theirs can carry.

    Raises
    ------
    LayoutError
        When an action has no record, or a move cannot be split.
    """
    move = steps.move
    fits = _fitting_rows(steps, move, layout)
    if fits.all():
        return steps
    pieces = np.ones(len(fits), dtype=np.int64)
    pieces[~fits] = _count_pieces(steps.action[~fits], move[~fits], layout)
    total = int(pieces.sum())
    source = np.repeat(np.arange(len(pieces)), pieces)
    index = np.arange(total) - np.repeat(np.cumsum(pieces) - pieces, pieces) + 1
    share = index / pieces[source]
    # A row that cannot move at all waits until its jumps have brought it there.
    carries = np.array([any(f.moves for f in layout.forms_for(a)) for a in Action])
    waits = ~carries[steps.action[source]]
    share = np.where(waits, np.minimum(index / np.maximum(pieces[source] - 1, 1), 1), share)
    start = steps.position - move
    where = np.rint(start[source] + move[source] * share[:, None]).astype(np.int64)
    last = index == pieces[source]
    action = np.where(last, steps.action[source], np.uint8(Action.JUMP)).astype(np.uint8)
    return Steps(action, where, steps.thread[source])


def _fitting_rows(steps: Steps, move: NDArray[np.int64], layout: RecordLayout) -> NDArray[np.bool_]:
    """Return (n,) bool: the rows that one record of their action can carry."""
    carried = steps.position if layout.is_absolute else move
    fits = np.zeros(len(steps.action), dtype=bool)
    for number in np.unique(steps.action):
        action = Action(int(number))
        forms = layout.forms_for(action)
        if not forms:
            raise LayoutError(
                _("the plan needs “{word}” but the layout has no record for it").format(
                    word=action.word
                ),
                where=layout.name,
                remedy=_("add a [[record]] for {word}").format(word=action.word),
            )
        rows = np.flatnonzero(steps.action == action)
        for form in forms:
            # Without x and y a record stays where the last one was.
            wanted = carried[rows] if form.moves else move[rows]
            able = form.can_move(wanted[:, 0], wanted[:, 1])
            fits[rows[able]] = True
            rows = rows[~able]
            if not len(rows):
                break
    return fits


def _count_pieces(
    action: NDArray[np.uint8], move: NDArray[np.int64], layout: RecordLayout
) -> NDArray[np.int64]:
    """Return into how many records each move is cut; the last piece keeps its action."""
    jump = layout.longest_move(Action.JUMP)
    if layout.is_absolute or not jump:
        raise LayoutError(
            _("a move of {x}, {y} steps cannot be written and there is no jump for it").format(
                x=move[0, 0], y=move[0, 1]
            ),
            where=layout.name,
            remedy=_("add a jump record with more bits"),
        )
    own = np.array([layout.longest_move(a) for a in Action], dtype=np.int64)[action]
    far = np.abs(move).max(axis=1)
    # One less than can be written: rounding both ends may lengthen a piece by a step.
    limit = np.where(own == 0, max(jump - 1, 1), np.maximum(np.minimum(own, jump) - 1, 1))
    pieces: NDArray[np.int64] = -(-far // limit) + (own == 0)
    # A jump that goes nowhere is left out; everything else is kept and refused if it must be.
    return np.where(action == Action.JUMP, pieces, np.maximum(pieces, 1))


def _encode(steps: Steps, layout: RecordLayout) -> bytes:
    """Return the records: every row gets the shortest form that can carry it."""
    move = steps.move
    carried = steps.position if layout.is_absolute else move
    form_of = np.full(len(steps.action), -1, dtype=np.int64)
    codes = np.zeros((len(steps.action), len(LETTERS)), dtype=np.int64)
    by_length = sorted(enumerate(layout.forms), key=lambda item: item[1].length)
    for number, form in by_length:
        rows = np.flatnonzero((steps.action == form.action) & (form_of < 0))
        wanted = carried[rows] if form.moves else move[rows]
        able = form.can_move(wanted[:, 0], wanted[:, 1])
        if "t" in form.numbers:
            able &= form.numbers["t"].can_write(steps.thread[rows])
        rows, wanted = rows[able], wanted[able]
        form_of[rows] = number
        values = (wanted[:, 0], wanted[:, 1], steps.thread[rows])
        for j, letter in enumerate(LETTERS):
            if letter in form.numbers:
                codes[rows, j] = form.numbers[letter].encode(values[j])
    if (form_of < 0).any():
        _refuse_row(int(np.flatnonzero(form_of < 0)[0]), steps, layout)
    cells = encode_records(form_of, codes, _bit_tables(layout.forms))
    return pack_cells(cells, layout.cell_bits)


def _refuse_row(row: int, steps: Steps, layout: RecordLayout) -> None:
    x, y = steps.move[row]
    raise LayoutError(
        _("a {word} of {x}, {y} steps, thread {thread}, fits no record").format(
            word=Action(int(steps.action[row])).word, x=x, y=y, thread=steps.thread[row]
        ),
        where=layout.name,
        remedy=_("give its numbers more bits"),
    )


def pack_cells(cells: NDArray[np.uint8], cell_bits: int) -> bytes:
    """Return cells as bytes: nibbles go two to a byte, the first one high, a last one beside 0."""
    if cell_bits == 8:
        return cells.tobytes()
    even = np.concatenate([cells, np.zeros(len(cells) % 2, dtype=np.uint8)])
    packed: bytes = (even[0::2] << 4 | even[1::2]).astype(np.uint8).tobytes()
    return packed


def _bit_tables(forms: tuple[RecordForm, ...]) -> BitTables:
    longest = max(f.length for f in forms)
    fixed = np.zeros((len(forms), longest), dtype=np.uint8)
    first, bits = [0], []
    for i, form in enumerate(forms):
        fixed[i, : form.length] = np.frombuffer(form.fixed, dtype=np.uint8)
        for field, letter in enumerate(LETTERS):
            if number := form.numbers.get(letter):
                top = len(number.places) - 1
                bits += [(cell, b, field, top - k) for k, (cell, b) in enumerate(number.places)]
        first.append(len(bits))
    return BitTables(
        np.array([f.length for f in forms], dtype=np.int64),
        fixed,
        np.array(first, dtype=np.int64),
        np.array(bits, dtype=np.int64).reshape(-1, 4),
    )


def _header_values(plan: StitchPlan, steps: Steps, name: str) -> dict[str, int | str]:
    box = steps.position if len(steps.position) else np.zeros((1, 2), dtype=np.int64)
    (left, bottom), (right, top) = box.min(axis=0).tolist(), box.max(axis=0).tolist()
    return {
        "name": name,
        "plan": plan.content_id(),
        "stitches": int(np.count_nonzero(steps.action == Action.STITCH)),
        "records": len(steps.action),
        "threads": len(plan.threads),
        "color_changes": int(np.count_nonzero(steps.action == Action.COLOR_CHANGE)),
        "trims": int(np.count_nonzero(steps.action == Action.TRIM)),
        "left": max(0, -left),
        "right": max(0, right),
        "bottom": max(0, -bottom),
        "top": max(0, top),
        "width": right - left,
        "height": top - bottom,
    }
