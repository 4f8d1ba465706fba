"""``firstpiece layout``: describe the machine's byte records, and see the bytes they make."""

from __future__ import annotations

from gettext import gettext as _
from gettext import ngettext
from pathlib import Path
from typing import TYPE_CHECKING

import click

from firstpiece.cli.answers import json_option, print_json
from firstpiece.cli.root import LazyGroup

if TYPE_CHECKING:
    from firstpiece.shop.layout_guide import LayoutView

_HERE = "firstpiece.cli.layout_command"

COMMANDS: dict[str, tuple[str, str]] = {
    "new": (f"{_HERE}:new", "Write a commented layout to be filled in."),
    "check": (f"{_HERE}:check", "Tell every fault by its line, or show the bytes it makes."),
}


@click.group(
    "layout",
    cls=LazyGroup,
    table=COMMANDS,
    short_help="Describe the machine's own records; check the description.",
    context_settings={"max_content_width": 100},
)
def layout() -> None:
    """Describe how your machine writes a design, from its own manual; then export by it."""


@click.command("new", short_help=COMMANDS["new"][1])
@click.argument("file", type=click.Path(path_type=Path))
@json_option
def new(*, file: Path, as_json: bool) -> None:
    """Write an invented layout full of remarks to FILE, which must not exist yet."""
    from firstpiece.errors import OutputError
    from firstpiece.files.safe_write import write_together
    from firstpiece.shop.layout_guide import layout_template

    if file.exists():
        raise OutputError(
            _("there is such a file already"), where=str(file), remedy=_("choose another name")
        )
    write_together(file.parent, {file.name: layout_template().encode()})
    if as_json:
        print_json("layout", {"file": str(file)})
    else:
        click.echo(str(file))


@click.command("check", short_help=COMMANDS["check"][1])
@click.argument("file", type=click.Path(path_type=Path))
@json_option
def check(*, file: Path, as_json: bool) -> int:
    """Tell every fault of FILE by its line; when there is none, show a small sample in hex."""
    from firstpiece.shop.export import read_layout_text
    from firstpiece.shop.layout_guide import view_layout

    view = view_layout(read_layout_text(file), name=file.name)
    if as_json:
        groups = [{"offset": g.offset, "hex": g.hex, "meaning": g.meaning} for g in view.groups]
        faults = [{"where": f.where, "what": f.what, "remedy": f.remedy} for f in view.faults]
        print_json("layout", {"file": str(file), "faults": faults, "sample": groups})
    else:
        _print_view(view)
    return 3 if view.faults else 0


def _print_view(view: LayoutView) -> None:
    if view.faults:
        for fault in view.faults:
            click.echo(str(fault))
        n = len(view.faults)
        click.echo(ngettext("{n} fault.", "{n} faults.", n).format(n=n))
        return
    click.echo(_("The layout can be used. A small sample, byte by byte:"))
    width = min(48, max(len(g.hex) for g in view.groups))
    for group in view.groups:
        shown = group.hex if len(group.hex) <= width else group.hex[: width - 2] + " …"
        click.echo(f"{group.offset:6d}  {shown:<{width}}  {group.meaning}")
