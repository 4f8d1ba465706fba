"""``firstpiece colors``: which thread colours read on a garment, how close rows must lie."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json
from firstpiece.errors import InputError

if TYPE_CHECKING:
    from firstpiece.model.material import Setup
    from firstpiece.shop.color_choice import ColorChoice


@click.command(short_help="Tell which thread colours read on a garment.")
@click.option(
    "--on",
    "garment",
    default="",
    metavar="CARD",
    help="Garment card; the shop's own default unless given.",
)
@click.option(
    "--thread",
    default="",
    metavar="CARD",
    help="Thread card; the garment's usual thread unless given.",
)
@click.option(
    "--tolerance",
    type=float,
    default=5.0,
    metavar="NUMBER",
    help="How far cloth may change an area's colour, in CIEDE2000; 5 unless given.",
)
@json_option  # fmt: skip
def colors(*, garment: str, thread: str, tolerance: float, as_json: bool) -> int:
    """List the rack's colours by how clearly they stand out on the garment's cloth.

    Contrast is the ratio of luminances of the Web Content Accessibility Guidelines: small letters
    want 4.5, large ones and shapes 3. Rows is the widest row spacing of a fill that hides the cloth
    within the tolerance.
    """
    if not tolerance > 0:
        raise InputError(
            _("a tolerance of {number:g} cannot be kept").format(number=tolerance),
            where="--tolerance",
            remedy=_("give a number above 0, such as 5"),
        )
    from firstpiece.shop.color_choice import choose_colors

    setup, choices = choose_colors(garment=garment, thread=thread, tolerance=tolerance)
    if as_json:
        print_json("colors", _object(setup, choices, tolerance))
    else:
        _print(setup, choices, tolerance)
    return 0


def _object(setup: Setup, choices: tuple[ColorChoice, ...], tolerance: float) -> dict[str, Any]:
    return {
        "garment": setup.garment.name,
        "thread": setup.thread.name,
        "tolerance": tolerance,
        "colors": [
            {
                "name": c.reading.thread.name,
                "hex": c.reading.thread.hex,
                "contrast": round(c.reading.contrast, 2),
                "difference": round(c.reading.difference, 1),
                "reads_small": c.reading.reads_small,
                "reads_large": c.reading.reads_large,
                "row_spacing_mm": c.rows.spacing_mm,
            }
            for c in choices
        ],
    }


def _print(setup: Setup, choices: tuple[ColorChoice, ...], tolerance: float) -> None:
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    console = open_console()
    console.print()
    console.print(f"{setup.thread.label} · {setup.garment.label}", style="bold", markup=False)
    table = Table.grid(padding=(0, 3, 0, 0))
    for side in ("left", "right", "left", "right"):
        table.add_column(justify=side)
    table.add_row("", _("contrast"), _("letters"), _("rows, mm"))
    for choice in choices:
        table.add_row(
            Text(choice.reading.thread.name),
            f"{choice.reading.contrast:.1f}",
            _letters(choice),
            _rows(choice),
        )
    console.print(Padding(table, (1, 0, 1, 2)))
    words = _(
        "Rows: the widest spacing at which cloth changes the colour by no more than {n:g} ΔE00. It "
        "rests on how wide the thread lies and how much light it scatters: not known without a "
        "sewn swatch."
    )
    console.print(words.format(n=tolerance), markup=False)


def _letters(choice: ColorChoice) -> str:
    if choice.reading.reads_small:
        return _("small and large")
    return _("large only") if choice.reading.reads_large else _("do not read")


def _rows(choice: ColorChoice) -> str:
    spacing = choice.rows.spacing_mm
    return _("none closes") if spacing is None else f"{spacing:.2f}"
