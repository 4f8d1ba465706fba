"""``firstpiece cards``: what may be named after ``--on`` and ``--thread``, and the rest."""

from __future__ import annotations

from dataclasses import asdict
from itertools import groupby

import click

from firstpiece.cli.answers import json_option, open_console, print_json

KINDS = ("garments", "threads", "fabrics", "backings", "hoops", "machines", "prices")


@click.command(short_help="List the garment, thread, machine and other cards.")
@click.argument("kind", required=False, default="", type=click.Choice(["", *KINDS]), metavar="KIND")
@json_option
def cards(*, kind: str, as_json: bool) -> None:
    """List the cards of one KIND, or all of them.

    KIND is garments, threads, fabrics, backings, hoops, machines or prices.
    """
    from firstpiece.shop.cards import list_cards

    lines = list_cards(kind)
    if as_json:
        print_json("cards", {"cards": [asdict(line) for line in lines]})
        return
    console = open_console()
    width = max(len(line.name) for line in lines)
    for name, group in groupby(lines, key=lambda line: line.kind):
        console.print(f"[bold]{name}[/bold]")
        for line in group:
            mark = "  (used when none is named)" if line.is_default else ""
            console.print(f"  {line.name:{width}}  {line.label}{mark}", markup=False)
