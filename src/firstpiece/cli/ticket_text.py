"""Pieces and finishing set for reading on a terminal."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.cli.answers import open_console

if TYPE_CHECKING:
    from firstpiece.shop.finishing import Finishing
    from firstpiece.shop.tickets import Recorded


def print_recorded(recorded: Recorded) -> None:
    """Print how a piece's line stands."""
    ticket = recorded.ticket
    text = _("{place}: {sewn} of {n} sewn, {spoiled} spoiled")
    open_console().print(
        text.format(place=ticket.place, sewn=recorded.n_sewn, n=ticket.n_pieces,
                    spoiled=recorded.n_spoiled),
        markup=False,
    )  # fmt: skip


def print_finishing(finishing: Finishing) -> None:
    """Print the checklist, the pack list and the notes."""
    console = open_console()
    console.print(_("To do"), style="bold", markup=False)
    for entry in finishing.checklist:
        console.print(f"  □ {entry}", markup=False)
    console.print()
    console.print(_("Pack list"), style="bold", markup=False)
    for line in finishing.pack_list:
        spoiled = _(", {n} spoiled").format(n=line.spoiled) if line.spoiled else ""
        text = _("  line {line}: {words}, {sewn} of {n} sewn{spoiled}")
        console.print(
            text.format(line=line.line, words=line.words, sewn=line.sewn, n=line.agreed,
                        spoiled=spoiled),
            markup=False,
        )  # fmt: skip
        if line.names:
            console.print("    " + ", ".join(line.names), markup=False)
    for heading, text in ((_("Care note"), finishing.care), (_("Message"), finishing.message)):
        if text:
            console.print()
            console.print(heading, style="bold", markup=False)
            console.print(text, markup=False)
