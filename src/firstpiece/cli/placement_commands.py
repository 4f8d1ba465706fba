"""``firstpiece placement``: where designs go on garments, in millimetres, looked at and changed."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json
from firstpiece.cli.options import LengthType
from firstpiece.cli.root import LazyGroup

if TYPE_CHECKING:
    from firstpiece.shop.placements import KnownPlace

_HERE = "firstpiece.cli.placement_commands"

COMMANDS: dict[str, tuple[str, str]] = {
    "list": (f"{_HERE}:list_", "List places by kind of garment, with their millimetres."),
    "set": (f"{_HERE}:set_", "Write a place, or one size of it, into the shop's own table."),
    "remove": (f"{_HERE}:remove", "Take a place out of the shop's own table."),
}

HELP = """Keep the table of where designs go on garments, by kind, place and size.

\b
  firstpiece placement list tee
  firstpiece placement set tee left-chest --size M --down 195mm
"""


@click.group(
    "placement",
    help=HELP,
    cls=LazyGroup,
    table=COMMANDS,
    short_help="Keep the table of where designs go on garments.",
    context_settings={"max_content_width": 100},
)
def placement() -> None:
    """Hold the commands."""


@click.command("list", short_help=COMMANDS["list"][1])
@click.argument("kind", required=False, default="")
@json_option
def list_(*, kind: str, as_json: bool) -> None:
    """List the places of KIND, or of every kind of garment."""
    from firstpiece.shop.placements import list_placements

    _answer([k for k in list_placements() if kind in ("", k.placement.kind)], as_json=as_json)


@click.command("set", short_help=COMMANDS["set"][1])
@click.argument("kind")
@click.argument("place")
@click.option("--size", default="", metavar="TEXT",
              help="Size it holds for; every one without its own unless given.")  # fmt: skip
@click.option("--down", type=LengthType(), metavar="LENGTH",
              help="From the seam or edge that the sentence names.")  # fmt: skip
@click.option("--across", type=LengthType(), metavar="LENGTH", help="From the middle line.")
@click.option("--label", default="", metavar="TEXT", help="What people call a new place.")
@click.option("--sentence", default="", metavar="TEXT",
              help="Words with {down}, and {across} where it is not on the middle.")  # fmt: skip
@json_option
def set_(*, kind: str, place: str, size: str, as_json: bool, **more: Any) -> None:
    """Write PLACE on a KIND of garment into the shop's own table; what is not named stays."""
    from firstpiece.shop.placements import KnownPlace, PlaceEntry, put_placement

    words = {name: more[name] for name in ("label", "sentence")}
    entry = PlaceEntry(kind, place, size, more["down"], more["across"], **words)
    _answer([KnownPlace(put_placement(entry), is_own=True)], as_json=as_json)


@click.command("remove", short_help=COMMANDS["remove"][1])
@click.argument("kind")
@click.argument("place")
@click.option("--size", default="", metavar="TEXT", help="Only this size of it.")
@json_option
def remove(*, kind: str, place: str, size: str, as_json: bool) -> None:
    """Take PLACE on a KIND of garment out of the shop's own table; the shipped one holds again."""
    from firstpiece.shop.placements import list_placements, remove_placement

    remove_placement(kind, place, size=size)
    _answer([k for k in list_placements() if k.placement.kind == kind], as_json=as_json)


def _answer(found: list[KnownPlace], *, as_json: bool) -> None:
    if as_json:
        from firstpiece.shop.record_objects import value_object

        print_json("placements", {"placements": [value_object(known) for known in found]})
        return
    console = open_console()
    for known in found:
        placed = known.placement
        own = _(", the shop's own") if known.is_own else ""
        head = f"{placed.kind} {placed.place}: {placed.label}{own}"
        console.print(head, style="bold", markup=False, highlight=False)
        for size, down in placed.down_mm.items():
            across = placed.across_mm.get(size)
            words = _("{size}: {down:g} mm down").format(size=size, down=down.value)
            if across is not None:
                words += _(", {across:g} mm across").format(across=across.value)
            console.print(f"  {words}", markup=False, highlight=False)
