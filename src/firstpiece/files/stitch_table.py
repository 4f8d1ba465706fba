"""The open stitch list: ``stitches.csv`` and ``threads.json``, out and back in.

One row per action, ``x_mm,y_mm,action,thread``; positions to 0.01 mm, where the needle is after the
action. ``thread`` counts the entries of ``threads.json`` from 0.
"""

from __future__ import annotations

import json
from gettext import gettext as _
from typing import Any

import numpy as np

from firstpiece.errors import InputError
from firstpiece.model.material import ThreadColor
from firstpiece.model.stitch import Action, StitchPlan

HEADER = "x_mm,y_mm,action,thread"

_WORDS = {action.word: int(action) for action in Action}


def write_stitch_csv(plan: StitchPlan) -> str:
    """Return the stitch list as text; the same plan gives the same bytes."""
    # Adding 0.0 turns −0.0 into 0.0, which would else be written as -0.00.
    xy = np.round(plan.xy_mm, 2) + 0.0
    n = len(xy)
    cells: list[Any] = [None] * (3 * n)
    cells[0::3] = xy[:, 0].tolist()
    cells[1::3] = xy[:, 1].tolist()
    cells[2::3] = _endings(plan).tolist()
    # One format call over the whole table is some three times faster than one per row.
    return HEADER + "\n" + ("%.2f,%.2f,%s" * n) % tuple(cells)


def _endings(plan: StitchPlan) -> np.ndarray[Any, Any]:
    """Return (n,) the text after the positions: one of few action and thread pairs."""
    n_threads = max(len(plan.threads), 1)
    table = np.array([f"{a.word},{t}\n" for a in Action for t in range(n_threads)], dtype=object)
    chosen: np.ndarray[Any, Any] = table[plan.action.astype(np.int64) * n_threads + plan.thread]
    return chosen


def write_threads_json(plan: StitchPlan) -> str:
    """Return the plan's threads, in the order they are first sewn."""
    entries = [{"name": t.name, "hex": t.hex, "tex": t.tex} for t in plan.threads]
    return json.dumps(entries, ensure_ascii=False, indent=1) + "\n"


def read_stitch_csv(csv_text: str, threads_text: str) -> StitchPlan:
    """Return the plan of a stitch list; areas and roles are not part of it.

    Raises
    ------
    InputError
        With the line at fault, when either text does not follow the format.
    """
    threads = read_threads(threads_text)
    lines = csv_text.split("\n")
    if lines[0].strip() != HEADER:
        raise _fault(1, _("the first line must be {header}").format(header=HEADER))
    rows = [line.split(",") for line in lines[1:] if line.strip()]
    for number, row in enumerate(rows, start=2):
        _check_row(row, number, len(threads))
    n = len(rows)
    return StitchPlan(
        xy_mm=np.array([(row[0], row[1]) for row in rows], dtype=np.float64).reshape(n, 2),
        action=np.array([_WORDS[row[2]] for row in rows], dtype=np.uint8),
        thread=np.array([row[3] for row in rows], dtype=np.int16),
        region_id=np.full(n, -1, dtype=np.int32),
        role=np.zeros(n, dtype=np.uint8),
        threads=threads,
    )


def _check_row(row: list[str], number: int, n_threads: int) -> None:
    if len(row) != 4:
        raise _fault(number, _("a row has four columns"))
    try:
        finite = np.isfinite(float(row[0])) and np.isfinite(float(row[1]))
        thread = int(row[3])
    except ValueError as fault:
        raise _fault(number, _("a position or thread is not a number")) from fault
    if not finite:
        raise _fault(number, _("a position is not finite"))
    if row[2] not in _WORDS:
        raise _fault(number, _("“{word}” is not an action").format(word=row[2][:20]))
    if not 0 <= thread < n_threads:
        raise _fault(number, _("thread {n} is not in threads.json").format(n=thread))


def read_threads(text: str) -> tuple[ThreadColor, ...]:
    """Return the threads of ``threads.json``; InputError when it is not as described."""
    try:
        entries = json.loads(text)
        return tuple(
            ThreadColor(str(e["name"]), _rgb(str(e["hex"])), float(e["tex"])) for e in entries
        )
    except (ValueError, KeyError, TypeError) as fault:
        raise InputError(
            _("the list of threads is not as described"),
            where="threads.json",
            remedy=_("write a list of objects with name, hex and tex"),
        ) from fault


def _rgb(code: str) -> tuple[int, int, int]:
    red, green, blue = bytes.fromhex(code.removeprefix("#"))
    return (red, green, blue)


def _fault(line: int, what: str) -> InputError:
    where = _("stitches.csv, line {line}").format(line=line)
    return InputError(what, where=where, remedy=_("mend the line"))
