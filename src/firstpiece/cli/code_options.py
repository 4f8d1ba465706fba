"""Options of everything that is printed: the paper, and the symbol that codes are printed as."""

from __future__ import annotations

import click

paper_option = click.option(
    "--paper", default="A4", metavar="SIZE", help="A4 or Letter; A4 unless given."
)

code_option = click.option(
    "--code",
    type=click.Choice(["qr", "data-matrix"]),
    default="qr",
    help="Symbol that codes are printed as; qr unless given.",
)
