"""``firstpiece papers``: everything a job needs on paper, as PDF files."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from firstpiece.cli.answers import json_option, print_json
from firstpiece.cli.code_options import code_option, paper_option


@click.command(short_help="Write a job's proof, run sheet, templates and lists.")
@click.argument("job", type=click.IntRange(1))
@click.option("--out", default=".", type=click.Path(path_type=Path), metavar="DIR",
              help="Folder for the files; this one unless given.")  # fmt: skip
@paper_option
@click.option("--inches", is_flag=True, help="Write lengths in inches instead of millimetres.")
@click.option("--tiles", is_flag=True,
              help="Add a design larger than a sheet at true size over several.")  # fmt: skip
@click.option("--labels", default="", metavar="GRID",
              help="Add piece labels: a grid such as a4-3x8, or a roll like 62x29.")  # fmt: skip
@code_option
@json_option
def papers(*, job: int, out: Path, as_json: bool, **how: Any) -> None:
    """Write the papers of JOB into a folder.

    Proof with a page for each colourway, also as pictures, contact sheet, run sheet, placement
    template for each garment size, quote, care notes; pack list and labels once the job is agreed.
    """
    from firstpiece.files.safe_write import check_writable, write_together
    from firstpiece.shop.papers import PaperChoice, make_papers

    check_writable(out)
    unit = "in" if how["inches"] else "mm"
    choice = PaperChoice(
        how["paper"], unit, in_tiles=how["tiles"], labels=how["labels"], code=how["code"]
    )
    files = write_together(out, make_papers(job, choice))
    if as_json:
        print_json("papers", {"job": job, "files": [str(path) for path in files]})
    else:
        click.echo("\n".join(str(path) for path in files))
