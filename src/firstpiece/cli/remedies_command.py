"""``firstpiece remedies``: what each way out of a finding would change, planned and priced."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json, progress_bar
from firstpiece.cli.options import area_option, height_option, job_options, picture_argument
from firstpiece.cli.prepare_command import request_of

if TYPE_CHECKING:
    from pathlib import Path

    from rich.console import Console

    from firstpiece.shop.finding_pins import Pin
    from firstpiece.shop.prepare import Prepared
    from firstpiece.shop.remedies import PricedRemedy

MOST_FINDINGS = 3


@click.command(short_help="Price every remedy of a picture's findings.")
@picture_argument
@height_option
@job_options
@area_option
@click.option(
    "--quantity", type=int, default=1, metavar="N", help="Pieces to quote; 1 unless given."
)
@click.option(
    "--finding",
    type=int,
    multiple=True,
    metavar="N",
    help="Number of a finding; the first three unless given, may be given again.",
)
@json_option  # fmt: skip
def remedies(
    *, picture: Path, height: float | None, finding: tuple[int, ...], as_json: bool, **job: Any
) -> int:
    """Plan and forecast PICTURE once for every remedy of its findings.

    Each row says how many stitches, minutes and how much money a piece the remedy adds or saves,
    and whether it answers the finding. Its mark, such as 3b, is what 'prepare --mend' takes.
    """
    prepared, pins = _price(picture, height, finding, job)
    if as_json:
        from firstpiece.shop.finding_pins import pin_object

        print_json("remedies", {"findings": [pin_object(pin) for pin in pins]})
    else:
        _print(open_console(), prepared, pins)
    return 1 if prepared.blocks_sewing else 0


def _price(
    picture: Path, height: float | None, numbers: tuple[int, ...], job: dict[str, Any]
) -> tuple[Prepared, tuple[Pin, ...]]:
    from firstpiece.shop.finding_pins import pins_of, price_pins
    from firstpiece.shop.prepare import prepare

    request = request_of(picture, height, job)
    with progress_bar() as report:
        prepared = prepare(request)
        open_pins = [pin.number for pin in pins_of(prepared) if pin.finding.remedies]
        chosen = numbers or tuple(open_pins[:MOST_FINDINGS])
        return prepared, price_pins(request, chosen, prepared=prepared, report=report)


def _print(console: Console, prepared: Prepared, pins: tuple[Pin, ...]) -> None:
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    from firstpiece.shop.finding_pins import mark

    if not pins:
        console.print(_("No finding asks for a remedy."), markup=False)
    for pin in pins:
        console.print()
        console.print(f"{pin.number}  {pin.finding.reason}", style="bold", markup=False)
        table = Table.grid(padding=(0, 2, 0, 0))
        for side in ("left", "left", "right", "right", "right", "left"):
            table.add_column(justify=side)
        for place, answer in enumerate(pin.priced):
            table.add_row(mark(pin.number, place), Text(answer.remedy.label), *_cells(answer))
        console.print(Padding(table, (0, 0, 0, 2)))
    if prepared.findings:
        console.print()
        console.print(_("Apply one with: firstpiece prepare … --mend MARK"), markup=False)


def _cells(answer: PricedRemedy) -> list[str]:
    from firstpiece.cli.sentences import money_text

    if answer.by_hand:
        return ["", "", "", _("by hand")]
    if answer.after is None:
        return ["", "", "", _("cannot be done here")]
    sign = "+" if answer.each.amount >= 0 else ""
    return [
        _("{n:+,} stitches").format(n=answer.stitches),
        _("{minutes:+.1f} min").format(minutes=answer.minutes),
        sign + money_text(answer.each),
        _("answers it") if answer.answers else _("does not answer it"),
    ]
