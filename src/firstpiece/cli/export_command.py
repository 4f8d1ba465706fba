"""``firstpiece export``: a plan as a motion program, a stitch list, SVG, or the shop's records."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from firstpiece.cli.answers import json_option, print_json
from firstpiece.cli.motion_options import motion_words, word_options


@click.command(short_help="Write a plan for the machine, checked by reading it back.")
@click.argument("source")
@click.option("--as", "kind", required=True, metavar="KIND",
              help="motion, csv, svg, or records:LAYOUT.toml.")  # fmt: skip
@click.option("--out", default=".", type=click.Path(path_type=Path), metavar="DIR",
              help="Folder or drive to write to; this folder unless given.")  # fmt: skip
@click.option("--colorway", default="", metavar="NAME", help="Colourway of the job.")
@click.option("--hoop", default="", metavar="CARD",
              help="Hoop it is sewn in: refuse a plan that does not clear it.")  # fmt: skip
@word_options
@click.option("--incremental", is_flag=True, help="Motion: write moves instead of positions.")
@click.option("--inch", is_flag=True, help="Motion: write inches instead of millimetres.")
@click.option("--no-numbers", is_flag=True, help="Motion: leave out the block numbers.")
@json_option
def export(
    *, source: str, kind: str, out: Path, colorway: str, hoop: str, as_json: bool, **words: Any
) -> None:
    """Write the plan of SOURCE: a job's number, or a folder that prepare --out wrote.

    The files are named by job, revision, height, colourway and plan hash. They are read back after
    writing, and a manifest with their hashes is written beside them.
    """
    from firstpiece.shop.export import ExportManner, export_design, open_source
    from firstpiece.shop.hand_over import hand_over

    opened = open_source(source, colorway=colorway)
    made = export_design(opened, ExportManner(kind, motion_words(words), hoop))
    done = hand_over(out, made, opened.mark)
    if as_json:
        files = [
            {"name": e.name, "bytes": e.n_bytes, "sha256": e.sha256} for e in done.manifest.entries
        ]
        content = {"plan_id": opened.mark.plan_id, "folder": str(out), "files": files}
        print_json("export", content)
    else:
        click.echo("\n".join(str(path) for path in done.paths))
