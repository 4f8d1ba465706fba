"""``firstpiece remedies``: what each way out of a finding would change, planned and priced."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json, progress_bar
from firstpiece.cli.options import height_option, job_options, picture_argument
from firstpiece.cli.prepare_command import request_of

if TYPE_CHECKING:
    from pathlib import Path

    from rich.console import Console

    from firstpiece.model.finding import Finding
    from firstpiece.shop.prepare import Prepared
    from firstpiece.shop.remedies import PricedRemedy

    Priced = list[tuple[int, Finding, tuple[PricedRemedy, ...]]]

MOST_FINDINGS = 3


@click.command(short_help="Price every remedy of a picture's findings.")
@picture_argument
@height_option
@job_options
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
    prepared, priced = _price(picture, height, finding, job)
    if as_json:
        print_json("remedies", {"findings": [_object(*entry) for entry in priced]})
    else:
        _print(open_console(), prepared, priced)
    return 1 if prepared.blocks_sewing else 0


def _price(
    picture: Path, height: float | None, pins: tuple[int, ...], job: dict[str, Any]
) -> tuple[Prepared, Priced]:
    from firstpiece.errors import InputError
    from firstpiece.model.finding import rank_findings
    from firstpiece.shop.prepare import prepare
    from firstpiece.shop.remedies import price_remedies

    request = request_of(picture, height, job)
    with progress_bar() as report:
        prepared = prepare(request)
        findings = rank_findings(prepared.findings)
        open_pins = [n for n, f in enumerate(findings, 1) if f.remedies]
        chosen = pins or tuple(open_pins[:MOST_FINDINGS])
        priced: Priced = []
        for place, pin in enumerate(chosen):
            if not 1 <= pin <= len(findings):
                raise InputError(
                    _("there is no finding {pin}").format(pin=pin),
                    where="--finding",
                    remedy=_("choose 1 to {n}").format(n=len(findings)),
                )
            report(place / len(chosen), _("Trying the remedies of finding {n}").format(n=pin))
            answers = price_remedies(request, findings[pin - 1], prepared=prepared)
            priced.append((pin, findings[pin - 1], answers))
    return prepared, priced


def _object(pin: int, finding: Finding, priced: tuple[PricedRemedy, ...]) -> dict[str, Any]:
    return {
        "pin": pin,
        "code": finding.code,
        "reason": finding.reason,
        "remedies": [
            {
                "mark": mark(pin, place),
                "label": p.remedy.label,
                "by_hand": p.by_hand,
                "answers": p.answers,
                "stitches": p.stitches,
                "minutes": round(p.minutes, 2),
                "each": {"amount": str(p.each.amount), "currency": str(p.each.currency)},
            }
            for place, p in enumerate(priced)
        ],
    }


def mark(pin: int, place: int) -> str:
    """Return what stands for a remedy: the finding's number and the remedy's letter."""
    return f"{pin}{chr(ord('a') + place)}"


def _print(console: Console, prepared: Prepared, priced: Priced) -> None:
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    if not priced:
        console.print(_("No finding asks for a remedy."), markup=False)
    for pin, finding, answers in priced:
        console.print()
        console.print(f"{pin}  {finding.reason}", style="bold", markup=False)
        table = Table.grid(padding=(0, 2, 0, 0))
        for side in ("left", "left", "right", "right", "right", "left"):
            table.add_column(justify=side)
        for place, answer in enumerate(answers):
            table.add_row(mark(pin, place), Text(answer.remedy.label), *_cells(answer))
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
