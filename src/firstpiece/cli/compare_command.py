"""``firstpiece compare``: the same picture on up to four set-ups, side by side."""

from __future__ import annotations

from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json, progress_bar
from firstpiece.cli.options import area_option, height_option, job_options, picture_argument
from firstpiece.cli.prepare_command import request_of
from firstpiece.errors import InputError
from firstpiece.units import parse_length_mm

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from firstpiece.shop.compare import SetupColumn
    from firstpiece.shop.prepare import PrepareRequest

FIELDS = {
    "on": "garment",
    "thread": "thread",
    "backing": "backing",
    "needle": "needle",
    "height": "height_mm",
}
READ: dict[str, Callable[[str], Any]] = {"height": parse_length_mm, "needle": int}


@click.command(short_help="Set one picture on several set-ups side by side.")
@picture_argument
@height_option
@job_options
@area_option
@click.option(
    "--quantity", type=int, default=1, metavar="N", help="Pieces to quote; 1 unless given."
)
@click.option(
    "--against",
    multiple=True,
    metavar="CHANGES",
    help="What another set-up has otherwise: 'on=tee-black', 'thread=poly-60', "
    "'backing=cutaway-85', 'needle=65', 'height=120mm', several between spaces; up to three times.",
)
@json_option  # fmt: skip
def compare(
    *, picture: Path, height: float | None, against: tuple[str, ...], as_json: bool, **job: Any
) -> int:
    """Plan, forecast and price PICTURE on up to four set-ups.

    The first set-up is what --on, --thread and --height say; each --against tells what the next one
    has otherwise.
    """
    request = request_of(picture, height, job)
    requests = [request, *(vary(request, text) for text in against)]
    from firstpiece.shop.compare import compare_setups

    with progress_bar() as report:
        columns = compare_setups(requests, report=report)
    if as_json:
        from firstpiece.shop.compare import setup_object

        print_json("comparison", {"setups": [setup_object(c) for c in columns]})
    else:
        _print(columns)
    return 1 if all(c.blocks for c in columns) else 0


def vary(request: PrepareRequest, text: str) -> PrepareRequest:
    """Return a request with the changes of one ``--against``.

    Raises
    ------
    InputError
        When a change is not understood.
    """
    changes: dict[str, Any] = {}
    for word in text.split():
        key, _sign, value = word.partition("=")
        if key not in FIELDS or not value or (key == "needle" and not value.isdigit()):
            raise InputError(
                _("“{word}” is not a change of the set-up").format(word=word[:40]),
                where="--against",
                remedy=_("write on=CARD, thread=CARD, backing=CARD, needle=SIZE or height=LENGTH"),
            )
        changes[FIELDS[key]] = READ.get(key, str)(value)
    return replace(request, **changes)


def _print(columns: tuple[SetupColumn, ...]) -> None:
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    console = open_console()
    console.print()
    for letter, column in zip("ABCD", columns, strict=False):
        console.print(f"{letter}  {column.label}", markup=False)
    console.print()
    table = Table.grid(padding=(0, 3, 0, 0))
    table.add_column()
    for _column in columns:
        table.add_column(justify="right")
    table.add_row("", *"ABCD"[: len(columns)])
    for label, cells in _rows(columns):
        table.add_row(Text(label), *(Text(cell) for cell in cells))
    console.print(Padding(table, (0, 0, 0, 2)))
    console.print()
    words = _(
        "Bands in brackets: the cards' ranges. How far cloth is drawn in and how stiff it hangs is "
        "not known without a sewn swatch; the order of the set-ups is."
    )
    console.print(words, markup=False)


def _rows(columns: tuple[SetupColumn, ...]) -> list[tuple[str, list[str]]]:
    from firstpiece.cli.sentences import band_text, count_text, money_text

    def told(figure: Any, digits: int) -> str:
        return _("not known") if figure is None else band_text(figure, digits=digits)

    return [
        (_("stitches"), [count_text(c.n_stitches) for c in columns]),
        (_("minutes"), [band_text(c.minutes) for c in columns]),
        (_("price each"), [money_text(c.each) for c in columns]),
        (_("show-through, ΔE00"), [told(c.shows, 1) for c in columns]),
        (_("  specks, read close"), [f"{c.specks:.1f}" for c in columns]),
        (_("rows drawn in, mm"), [told(c.drawn_in, 1) for c in columns]),
        (_("times stiffer"), [f"{c.times_stiffer:.0f}" for c in columns]),
        (_("findings to look at"), [str(len(c.warnings) + len(c.blocks)) for c in columns]),
        (_("  forbidding to sew"), [str(len(c.blocks)) for c in columns]),
    ]
