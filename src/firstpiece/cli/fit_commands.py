"""``firstpiece fit``: the machine card refitted from runs timed with a stopwatch."""

from __future__ import annotations

from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

import click

from firstpiece.cli.answers import json_option, open_console, print_json
from firstpiece.cli.root import LazyGroup

if TYPE_CHECKING:
    from firstpiece.model.measured import Measured
    from firstpiece.shop.timed_runs import TimedMachine

_HERE = "firstpiece.cli.fit_commands"

COMMANDS: dict[str, tuple[str, str]] = {
    "runs": (f"{_HERE}:runs", "Write the designs to sew with a stopwatch."),
    "machine": (f"{_HERE}:machine", "Make a machine card from the seconds they took."),
}

HELP = """Refit a card from what this shop measured.

\b
  firstpiece fit runs --out timed
  firstpiece fit machine --long 310 --trims 265 --changes 158 --check 410 --keep
"""


@click.group(
    "fit",
    help=HELP,
    cls=LazyGroup,
    table=COMMANDS,
    short_help="Refit a card from what this shop measured.",
)
def fit() -> None:
    """Hold the commands."""


@click.command("runs", short_help=COMMANDS["runs"][1])
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("timed-runs"),
    metavar="DIR",
    help="Folder for the four designs; 'timed-runs' unless given.",
)
@json_option
def runs(*, out: Path, as_json: bool) -> None:
    """Write four designs as stitch lists: 'long', 'trims', 'changes', and 'check' to hold back.

    'firstpiece export' turns each folder into a program for the machine. Time each from the first
    needle down to the end.
    """
    from firstpiece.shop.timed_runs import write_timed_runs

    files = write_timed_runs(out)
    if as_json:
        print_json("timed runs", {"files": [str(f) for f in files]})
        return
    words = _("Written to {folder}: sew each and note its seconds, then run 'fit machine'.")
    open_console().print(words.format(folder=out), markup=False)


@click.command("machine", short_help=COMMANDS["machine"][1])
@click.argument("card", default="")
@click.option("--long", type=float, required=True, metavar="SECONDS",
              help="Time of the run of long stitches.")  # fmt: skip
@click.option("--trims", type=float, required=True, metavar="SECONDS",
              help="Time of the run with trims.")  # fmt: skip
@click.option("--changes", type=float, required=True, metavar="SECONDS",
              help="Time of the run with thread changes.")  # fmt: skip
@click.option("--check", type=float, metavar="SECONDS",
              help="Time of the run held back, to test the card.")  # fmt: skip
@click.option("--keep", is_flag=True, help="Write the card among the shop's own.")
@json_option  # fmt: skip
def machine(*, card: str, keep: bool, as_json: bool, **took: float | None) -> None:
    """Fit CARD's speed law, trim and thread change (the first machine unless named)."""
    from firstpiece.shop.timed_runs import keep_machine, time_machine

    seconds = {name: value for name, value in took.items() if value is not None}
    timed = time_machine(seconds, machine=card)
    file = keep_machine(timed) if keep else None
    if as_json:
        print_json("machine", _object(timed, file))
    else:
        _print(timed, file)


_FIELDS = ("speed_constant", "trim", "color_change")


def _object(timed: TimedMachine, file: Path | None) -> dict[str, object]:
    return {
        "name": timed.after.name,
        "numbers": {
            name: {
                "value": round(number.value, 3),
                "low": round(number.low, 3),
                "high": round(number.high, 3),
                "unit": number.unit,
                "source": number.source,
            }
            for name, number in ((n, getattr(timed.after, n)) for n in _FIELDS)
        },
        "check_off_by": None if timed.miss is None else round(timed.miss, 4),
        "file": None if file is None else str(file),
    }


def _print(timed: TimedMachine, file: Path | None) -> None:
    console = open_console()
    labels = (_("speed constant"), _("a trim"), _("a thread change"))
    for label, name in zip(labels, _FIELDS, strict=True):
        now: Measured = getattr(timed.after, name)
        before: Measured = getattr(timed.before, name)
        words = _("  {label}: {value} {unit} ({low} to {high}), {before} before").format(
            label=label,
            value=f"{now.value:.4g}",
            unit=now.unit,
            low=f"{now.low:.4g}",
            high=f"{now.high:.4g}",
            before=f"{before.value:.4g}",
        )
        console.print(words, markup=False)
    if timed.miss is None:
        console.print(_("Without a run held back nothing tests this card."), markup=False)
    else:
        words = _("The run held back is foretold {share:+.1%} off the stopwatch.")
        console.print(words.format(share=timed.miss), markup=False)
    if file is not None:
        console.print(_("Kept in {file}").format(file=file), markup=False)
