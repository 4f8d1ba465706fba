"""The root command: a table of commands whose modules are imported only when one is run.

The one-line helps stand in the table too, so that ``firstpiece --help`` imports nothing heavy.
"""

from __future__ import annotations

from gettext import gettext as _
from importlib import import_module
from typing import Any

import click

COMMANDS: dict[str, tuple[str, str]] = {
    "demo": (
        "firstpiece.cli.demo_command:demo",
        "Run the whole chain on a picture made for it.",
    ),
    "prepare": (
        "firstpiece.cli.prepare_command:prepare",
        "Turn a picture into a plan, a forecast, a price and papers.",
    ),
    "letter": (
        "firstpiece.cli.letter_command:letter",
        "Set a line of text and prepare it like a picture.",
    ),
    "edit": (
        "firstpiece.cli.edit_command:edit",
        "Edit a design's areas: merge, split, thicken, set text, undo.",
    ),
    "hoopings": (
        "firstpiece.cli.hoopings_command:hoopings",
        "Part a design larger than its hoop into hoopings.",
    ),
    "gang": (
        "firstpiece.cli.hoopings_command:gang",
        "Gang patches in one hoop, each with border and cut line.",
    ),
    "explain": (
        "firstpiece.cli.explain_command:explain",
        "Say why each area is sewn as it is, and when.",
    ),
    "remedies": (
        "firstpiece.cli.remedies_command:remedies",
        "Price every remedy of a picture's findings.",
    ),
    "forecast": (
        "firstpiece.cli.forecast_command:forecast",
        "Tell all that is forecast of a picture, with bands and maps.",
    ),
    "compare": (
        "firstpiece.cli.compare_command:compare",
        "Set one picture on several set-ups side by side.",
    ),
    "colors": (
        "firstpiece.cli.colors_command:colors",
        "Tell which thread colours read on a garment.",
    ),
    "ladder": (
        "firstpiece.cli.ladder_command:ladder",
        "Price a picture at several heights and quantities.",
    ),
    "ask": (
        "firstpiece.cli.ask_command:ask",
        "List what a picture leaves open, as a message to send.",
    ),
    "job": (
        "firstpiece.cli.job_commands:job",
        "Keep the shop's jobs: orders, designs, what was agreed.",
    ),
    "customer": (
        "firstpiece.cli.customer_commands:customer",
        "Keep the shop's customers; export or erase one.",
    ),
    "stock": (
        "firstpiece.cli.stock_commands:stock",
        "Keep stock: what is there, needed, short and to be bought.",
    ),
    "day": (
        "firstpiece.cli.day_commands:day",
        "Plan the day: which job on which machine when, what is late.",
    ),
    "needles": (
        "firstpiece.cli.needles_command:needles",
        "Tell what is on the machines' needles; the day begins there.",
    ),
    "placement": (
        "firstpiece.cli.placement_commands:placement",
        "Keep the table of where designs go on garments.",
    ),
    "ticket": (
        "firstpiece.cli.ticket_commands:ticket",
        "Give every piece a ticket; check it before the piece is started.",
    ),
    "papers": (
        "firstpiece.cli.papers_command:papers",
        "Write a job's proof, run sheet, templates and lists.",
    ),
    "export": (
        "firstpiece.cli.export_command:export",
        "Write a plan for the machine, checked by reading it back.",
    ),
    "read": (
        "firstpiece.cli.read_command:read",
        "Read a design that is stitches already: forecast, price, papers.",
    ),
    "layout": (
        "firstpiece.cli.layout_command:layout",
        "Describe the machine's own records; check the description.",
    ),
    "fit": (
        "firstpiece.cli.fit_commands:fit",
        "Refit a card from what this shop measured.",
    ),
    "backup": (
        "firstpiece.cli.backup_commands:backup",
        "Write the whole shop into one checked file.",
    ),
    "restore": (
        "firstpiece.cli.backup_commands:restore",
        "Go back to a backup, or check that one could.",
    ),
    # The page is the other face of the shop; only the floor above both knows it.
    "open": ("firstpiece.__main__:open_page", "Open the local page in the browser."),
    "cards": (
        "firstpiece.cli.cards_command:cards",
        "List the garment, thread, machine and other cards.",
    ),
    "doctor": (
        "firstpiece.cli.doctor_command:doctor",
        "Check that everything is in place on this computer.",
    ),
}
"""Command name -> (module:attribute, one-line help), in the order of ``--help``."""


class LazyGroup(click.Group):
    """A group that finds its commands in a table and imports one when it is asked for."""

    def __init__(self, *args: Any, table: dict[str, tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.table = table

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Return the names as the table orders them."""
        return list(self.table)

    def get_command(  # the signature is click's
        self,
        ctx: click.Context,  # noqa: ARG002
        cmd_name: str,
    ) -> click.Command | None:
        """Import and return one command, or None when there is no such name."""
        if cmd_name not in self.table:
            return None
        module, _colon, attribute = self.table[cmd_name][0].partition(":")
        command: click.Command = getattr(import_module(module), attribute)
        return command

    def format_commands(
        self,
        ctx: click.Context,  # noqa: ARG002
        formatter: click.HelpFormatter,
    ) -> None:
        """Write the table's one-line helps without importing any command."""
        with formatter.section(_("Commands")):
            formatter.write_dl([(name, _(text)) for name, (_home, text) in self.table.items()])


HELP = """From a customer's picture to an agreed, forecast and priced embroidery job.

\b
Begin with:
  firstpiece demo
  firstpiece prepare logo.png --height 90mm --out job
  firstpiece open
"""


@click.group(
    help=HELP,
    cls=LazyGroup,
    table=COMMANDS,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(package_name="firstpiece", message="firstpiece %(version)s")
def root() -> None:
    """Hold the commands."""
