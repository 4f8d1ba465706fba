"""Stitch plans to a machine's byte records and back, by the shop's own record layout.

Moves that a layout cannot express in one record are split; positions are rounded to the layout's
step once, from the start, so that rounding never adds up.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstpiece.errors import LayoutError
from firstpiece.files.record_fields import check_fields, fields_length, write_fields
from firstpiece.kernels.record_decode import FormTables, decode_records
from firstpiece.model.material import ThreadColor
from firstpiece.model.stitch import Action, StitchPlan

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.files.record_layout import RecordForm, RecordLayout

Steps = tuple["NDArray[np.uint8]", "NDArray[np.int64]", "NDArray[np.int64]"]
"""Action (n,), position (n, 2) in steps, thread (n,)."""


def write_program(plan: StitchPlan, layout: RecordLayout, *, name: str = "design") -> bytes:
    """Return the plan as the layout's bytes: header, records, footer.

    Raises
    ------
    LayoutError
        When the layout has no record for something the plan does, or a value does not fit.
    """
    action, position, thread = _split_moves(_in_steps(plan, layout), layout)
    records = _encode(action, position, thread, layout)
    values = _header_values(plan, action, position, name)
    values["record_bytes"] = len(records)
    header_size = fields_length(layout.header)
    values["file_bytes"] = header_size + len(records) + fields_length(layout.footer)
    header = write_fields(layout.header, values, records, b"")
    return header + records + write_fields(layout.footer, values, records, header + records)


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
        msg = f"the file has {len(data)} bytes but header and footer alone take {start + tail}"
        raise LayoutError(
            msg, where=f"byte {len(data)}", remedy="the file is cut off; copy it anew"
        )
    body = np.frombuffer(data, dtype=np.uint8)[start : len(data) - tail]
    end_form = next((i for i, f in enumerate(layout.forms) if f.action == Action.END), -1)
    rows, stop = decode_records(body, _form_tables(layout.forms), end_form)
    ended = len(rows) > 0 and rows[-1, 0] == end_form
    if stop < len(body) and not ended:
        msg = f"no record of the layout begins with {body[stop : stop + 4].tobytes().hex(' ')}"
        raise LayoutError(msg, where=f"byte {start + stop}", remedy="add that record to the layout")
    if end_form >= 0 and not ended:
        msg = "the program breaks off before its end record"
        raise LayoutError(
            msg, where=f"byte {start + stop}", remedy="the file is cut off; copy it anew"
        )
    records = data[start : start + stop]
    check_fields(layout.header, data[:start], records, b"")
    check_fields(layout.footer, data[len(data) - tail :], records, data[: len(data) - tail])
    return _plan_from_rows(rows, layout, threads)


def _in_steps(plan: StitchPlan, layout: RecordLayout) -> Steps:
    signs = np.array([layout.x_sign, layout.y_sign], dtype=np.float64)
    position = np.rint(plan.xy_mm * signs / layout.step_mm).astype(np.int64)
    return plan.action, position, plan.thread.astype(np.int64)


def _split_moves(steps: Steps, layout: RecordLayout) -> Steps:
    """Put jumps before rows whose move no record of their action can carry."""
    action, position, thread = steps
    move = np.diff(position, axis=0, prepend=np.zeros((1, 2), dtype=np.int64))
    wanted = position if layout.is_absolute else move
    fits = np.ones(len(action), dtype=bool)
    for a in np.unique(action):
        rows = action == a
        forms = _forms(layout, Action(int(a)))
        fits[rows] = np.any([f.can_move(*wanted[rows].T) for f in forms], axis=0)
    if layout.is_absolute:
        # Without x and y a record stays where the last one was.
        stays = np.array([not any(f.moves for f in _forms(layout, Action(int(a)))) for a in action])
        fits = np.where(stays, ~move.any(axis=1), fits)
    if fits.all():
        return steps
    pieces = [_pieces(move[i], action[i], layout) if not fits[i] else 1 for i in range(len(action))]
    counts = np.array(pieces, dtype=np.int64)
    total = int(counts.sum())
    source = np.repeat(np.arange(len(action)), counts)
    index = np.arange(total) - np.repeat(np.cumsum(counts) - counts, counts) + 1
    share = index / counts[source]
    before = position - move
    carries = np.array([any(f.moves for f in layout.forms_for(Action(int(a)))) for a in action])
    # A row that cannot move at all waits until its jumps have brought it there.
    share = np.where(
        ~carries[source], np.minimum(index / np.maximum(counts[source] - 1, 1), 1), share
    )
    where = np.rint(before[source] + move[source] * share[:, None]).astype(np.int64)
    last = index == counts[source]
    new_action = np.where(last, action[source], np.uint8(Action.JUMP)).astype(np.uint8)
    return new_action, where, thread[source]


def _forms(layout: RecordLayout, action: Action) -> tuple[RecordForm, ...]:
    forms = layout.forms_for(action)
    if not forms:
        msg = f"the plan needs “{action.word}” but the layout has no record for it"
        raise LayoutError(msg, where=layout.name, remedy=f"add a [[record]] for {action.word}")
    return forms


def _pieces(move: NDArray[np.int64], action: int, layout: RecordLayout) -> int:
    """Return into how many records one move is cut; the last keeps its action."""
    jump = layout.longest_move(Action.JUMP)
    own = layout.longest_move(Action(int(action)))
    if layout.is_absolute or not jump:
        msg = f"a move of {move[0]}, {move[1]} steps cannot be written and there is no jump for it"
        raise LayoutError(msg, where=layout.name, remedy="add a jump record with more bits")
    far = int(np.abs(move).max())
    if own == 0:
        return -(-far // max(jump - 1, 1)) + 1
    # One more than the division gives: rounding both ends may lengthen a piece by a step.
    limit = max(min(own, jump) - 1, 1)
    return -(-far // limit)


def _encode(
    action: NDArray[np.uint8],
    position: NDArray[np.int64],
    thread: NDArray[np.int64],
    layout: RecordLayout,
) -> bytes:
    """Return the records: every row gets the shortest form that can carry it."""
    move = np.diff(position, axis=0, prepend=np.zeros((1, 2), dtype=np.int64))
    carried = position if layout.is_absolute else move
    form_of = np.full(len(action), -1, dtype=np.int64)
    for number, form in sorted(enumerate(layout.forms), key=lambda item: item[1].length):
        open_rows = (form_of < 0) & (action == form.action)
        able = form.can_move(*(carried if form.moves else move).T)
        if "t" in form.numbers:
            able &= form.numbers["t"].can_write(thread)
        form_of[open_rows & able] = number
    if (form_of < 0).any():
        row = int(np.flatnonzero(form_of < 0)[0])
        word = Action(int(action[row])).word
        far = f"{move[row, 0]}, {move[row, 1]} steps"
        msg = f"a {word} of {far}, thread {thread[row]}, fits no record"
        raise LayoutError(msg, where=layout.name, remedy="give its numbers more bits")
    lengths = np.array([f.length for f in layout.forms], dtype=np.int64)[form_of]
    starts = np.cumsum(lengths) - lengths
    out = np.zeros(int(lengths.sum()), dtype=np.uint8)
    for number, form in enumerate(layout.forms):
        rows = np.flatnonzero(form_of == number)
        block = np.tile(np.frombuffer(form.fixed, dtype=np.uint8), (len(rows), 1))
        values = {"x": carried[rows, 0], "y": carried[rows, 1], "t": thread[rows]}
        for letter, how in form.numbers.items():
            code = how.encode(values[letter])
            for k, (byte, bit) in enumerate(how.places):
                block[:, byte] |= ((code >> (len(how.places) - 1 - k) & 1) << bit).astype(np.uint8)
        out[starts[rows, None] + np.arange(form.length)] = block
    return out.tobytes()


def _header_values(
    plan: StitchPlan, action: NDArray[np.uint8], position: NDArray[np.int64], name: str
) -> dict[str, int | str]:
    box = position if len(position) else np.zeros((1, 2), dtype=np.int64)
    (left, bottom), (right, top) = box.min(axis=0).tolist(), box.max(axis=0).tolist()
    return {
        "name": name,
        "stitches": int(np.count_nonzero(action == Action.STITCH)),
        "records": len(action),
        "threads": len(plan.threads),
        "color_changes": int(np.count_nonzero(action == Action.COLOR_CHANGE)),
        "trims": int(np.count_nonzero(action == Action.TRIM)),
        "left": max(0, -left),
        "right": max(0, right),
        "bottom": max(0, -bottom),
        "top": max(0, top),
        "width": right - left,
        "height": top - bottom,
    }


def _form_tables(forms: tuple[RecordForm, ...]) -> FormTables:
    longest = max(f.length for f in forms)
    mask = np.zeros((len(forms), longest), dtype=np.uint8)
    fixed = np.zeros_like(mask)
    first, bits = [0], []
    for i, form in enumerate(forms):
        mask[i, : form.length] = np.frombuffer(form.mask, dtype=np.uint8)
        fixed[i, : form.length] = np.frombuffer(form.fixed, dtype=np.uint8)
        for field, letter in enumerate("xyt"):
            if number := form.numbers.get(letter):
                pairs = zip(number.places, number.weights, strict=True)
                bits += [(byte, bit, field, weight) for (byte, bit), weight in pairs]
        first.append(len(bits))
    return FormTables(
        np.array([f.length for f in forms], dtype=np.int64),
        mask,
        fixed,
        np.array(first, dtype=np.int64),
        np.array(bits, dtype=np.int64).reshape(-1, 4),
    )


def _plan_from_rows(
    rows: NDArray[np.int64], layout: RecordLayout, threads: tuple[ThreadColor, ...]
) -> StitchPlan:
    actions = np.array([f.action for f in layout.forms], dtype=np.uint8)
    moves = np.array([f.moves for f in layout.forms], dtype=bool)
    action = actions[rows[:, 0]]
    xy = rows[:, 1:3].astype(np.float64)
    if layout.is_absolute:
        # A record without a place stays where the last one with a place was.
        seen = np.maximum.accumulate(np.where(moves[rows[:, 0]], np.arange(len(rows)), -1))
        xy = np.where(seen[:, None] >= 0, xy[np.maximum(seen, 0)], 0.0)
    else:
        xy = np.cumsum(xy, axis=0)
    xy *= layout.step_mm * np.array([layout.x_sign, layout.y_sign])
    changes = np.cumsum(action == Action.COLOR_CHANGE)
    names_thread = np.array(["t" in f.numbers for f in layout.forms], dtype=bool)
    thread = np.where(names_thread[rows[:, 0]], rows[:, 3], changes)
    if names_thread.any():
        seen = np.maximum.accumulate(np.where(names_thread[rows[:, 0]], np.arange(len(rows)), -1))
        thread = np.where(seen >= 0, rows[np.maximum(seen, 0), 3], 0)
    n_threads = int(thread.max(initial=0)) + 1
    made_up = tuple(
        ThreadColor(f"thread {i + 1}", (128, 128, 128), 26.7)
        for i in range(len(threads), n_threads)
    )
    return StitchPlan(
        xy_mm=xy,
        action=action,
        thread=thread.astype(np.int16),
        region_id=np.full(len(rows), -1, dtype=np.int32),
        role=np.zeros(len(rows), dtype=np.uint8),
        threads=threads + made_up,
    )
