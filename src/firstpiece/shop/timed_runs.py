"""Timed runs: designs to sew with a stopwatch, and the machine card their seconds make.

Input: a machine card and seconds. Output: stitch lists to sew; a new card with the shop's own speed
and pauses, and how well it foretells a run that was held back.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.errors import InputError
from firstpiece.files.machine_card import put_machine
from firstpiece.files.safe_write import write_together
from firstpiece.files.stitch_table import write_stitch_csv, write_threads_json
from firstpiece.forecasting.sewing_time import forecast_minutes
from firstpiece.forecasting.timed_runs import TimedRun, fit_machine
from firstpiece.model.material import ThreadColor
from firstpiece.model.stitch import Action, Role, StitchPlan
from firstpiece.shop.book import now
from firstpiece.shop.cards import open_cards
from firstpiece.store.home import cards_folder

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from firstpiece.model.material import Machine
    from firstpiece.model.measured import Figure

NAMES = ("long", "trims", "changes")
HELD_BACK = "check"
# Stitches, their length [mm], pieces cut by trims, threads taken in turn.
_RUNS = {
    "long": (3000, 10.0, 1, 1),
    "trims": (800, 2.0, 31, 1),
    "changes": (800, 2.0, 9, 2),
    "check": (1500, 4.0, 12, 2),
}
ROW_MM, ROW_STEP_MM = 60.0, 0.4
_THREADS = (ThreadColor("first", (40, 40, 40), 26.7), ThreadColor("second", (200, 60, 40), 26.7))


@dataclass(frozen=True, slots=True, eq=False)
class TimedMachine:
    """A machine card from timed runs.

    Parameters
    ----------
    before, after : Machine
    check : Figure or None
        What the new card foretells of the run held back [min].
    check_seconds : float or None [s]
        What it took.
    """

    before: Machine
    after: Machine
    check: Figure | None = None
    check_seconds: float | None = None

    @property
    def miss(self) -> float | None:
        """How far the forecast of the run held back lies from the stopwatch, as a share."""
        if self.check is None or not self.check_seconds:
            return None
        return self.check.band.p50 * 60.0 / self.check_seconds - 1.0


def timed_plan(name: str) -> StitchPlan:
    """Return one of the designs: ``long``, ``trims``, ``changes`` or ``check``."""
    n_stitches, length, pieces, n_threads = _RUNS[name]
    rows: list[tuple[float, float, int, int]] = []
    level, place = 0.0, 0
    for piece in range(pieces):
        thread = piece % n_threads
        if rows:
            was = rows[-1]
            action = Action.COLOR_CHANGE if thread != was[3] else Action.TRIM
            level += 2.0
            rows += [(was[0], was[1], action, thread), (0.0, level, Action.JUMP, thread)]
        share = n_stitches * (piece + 1) // pieces - place
        for x, y in _rows(share, length, level):
            rows.append((x, y, Action.STITCH, thread))
        level, place = rows[-1][1], place + share
    rows.append((rows[-1][0], rows[-1][1], Action.END, rows[-1][3]))
    table = np.array(rows)
    return StitchPlan(
        xy_mm=table[:, :2],
        action=table[:, 2].astype(np.uint8),
        thread=table[:, 3].astype(np.int16),
        region_id=np.full(len(table), -1, dtype=np.int32),
        role=np.full(len(table), Role.COVER, dtype=np.uint8),
        threads=_THREADS[:n_threads],
    )


def _rows(n: int, length: float, level: float) -> list[tuple[float, float]]:
    """Return so many needle places, there and back in rows of stitches of one length."""
    per_row = max(1, round(ROW_MM / length))
    places = []
    for k in range(n):
        row, step = divmod(k, per_row + 1)
        along = step if row % 2 == 0 else per_row - step
        places.append((along * length, level + row * ROW_STEP_MM))
    return places


def write_timed_runs(folder: Path) -> tuple[Path, ...]:
    """Write the four designs as stitch lists, each in a folder of its own.

    Raises
    ------
    OutputError
    """
    written: list[Path] = []
    for name in (*NAMES, HELD_BACK):
        plan = timed_plan(name)
        texts = {"stitches.csv": write_stitch_csv(plan), "threads.json": write_threads_json(plan)}
        made = {file: text.encode() for file, text in texts.items()}
        written += write_together(folder / name, made)
    return tuple(written)


def time_machine(seconds: Mapping[str, float], *, machine: str = "") -> TimedMachine:
    """Return the machine card that timed runs make.

    Parameters
    ----------
    seconds : mapping of str to float [s]
        What ``long``, ``trims`` and ``changes`` took, and ``check`` where it was sewn too.
    machine : str
        Card to start from; the first one unless given.

    Raises
    ------
    InputError
        When a run is missing or a time cannot be right.
    CardError
    """
    for name in NAMES:
        if not seconds.get(name, 0.0) > 0.0:
            raise InputError(
                _("the run “{name}” has no time").format(name=name),
                remedy=_("sew it and give its seconds"),
            )
    before = open_cards().machine(machine)
    runs = [TimedRun(timed_plan(name), seconds[name]) for name in NAMES]
    after = fit_machine(before, runs, measured_on=f"{now():%Y-%m-%d}")
    took = seconds.get(HELD_BACK)
    check = forecast_minutes(timed_plan(HELD_BACK), after) if took else None
    return TimedMachine(before, after, check, took)


def keep_machine(timed: TimedMachine) -> Path:
    """Write the new card among the shop's own and return the file.

    Raises
    ------
    OutputError
    """
    folder = cards_folder()
    file = folder / "machines.toml"
    text = file.read_text("utf-8") if file.is_file() else ""
    made = put_machine(text, timed.after).encode()
    return write_together(folder, {file.name: made})[0]
