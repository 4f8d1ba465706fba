"""``firstpiece demo``: the whole chain on the project's own picture."""

from __future__ import annotations

from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

import click

from firstpiece.cli.answers import json_option, open_console, print_json, progress_bar

if TYPE_CHECKING:
    from firstpiece.shop.demo import Demo

DEFAULT_FOLDER = Path("firstpiece-demo")


@click.command(short_help="Run the whole chain on a picture made for it.")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=DEFAULT_FOLDER,
    metavar="DIR",
    help="Folder for the files; firstpiece-demo unless given.",
)
@json_option
def demo(*, out: Path, as_json: bool) -> int:
    """Prepare the community orchard's apron: from its rough picture to proof and run sheet."""
    from firstpiece.shop.demo import run_demo

    with progress_bar() as report:
        made = run_demo(out, report=report)
    if as_json:
        from firstpiece.shop.job_objects import job_object, ladder_object

        content = {
            "job": job_object(made.prepared, made.files),
            "ladder": ladder_object(made.ladder),
        }
        print_json("demo", content)
    else:
        _show(made, out)
    return 1 if made.prepared.blocks_sewing else 0


def _show(made: Demo, out: Path) -> None:
    from firstpiece.cli.job_text import print_files, print_job, print_ladder

    console = open_console()
    console.print(
        _(
            "A community orchard wants aprons for its volunteers and has sent a photo of its\n"
            "emblem. This is what Firstpiece made of it."
        ),
        markup=False,
    )
    print_job(console, made.prepared)
    print_ladder(console, made.ladder)
    print_files(console, out, made.files)
    console.print()
    console.print(_("Look at {path} first.").format(path=out / "proof.png"), markup=False)
    console.print(_("For the local page: firstpiece open"), markup=False)
