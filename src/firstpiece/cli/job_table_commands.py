"""``firstpiece job`` continued: all customers and jobs as CSV tables, out and in."""

from __future__ import annotations

from gettext import gettext as _
from pathlib import Path

import click

from firstpiece.cli.answers import json_option, open_console, print_json
from firstpiece.cli.job_commands import COMMANDS


@click.command("export", short_help=COMMANDS["export"][1])
@click.option("--out", type=click.Path(path_type=Path), required=True, metavar="DIR",
              help="Folder for the tables; it is made when missing.")  # fmt: skip
@json_option
def export(*, out: Path, as_json: bool) -> None:
    """Write customers.csv, jobs.csv and lines.csv, for a spreadsheet or another Firstpiece.

    Pictures, designs and logs are not in them: 'firstpiece backup' keeps everything.
    """
    from firstpiece.shop.job_tables import write_tables

    files = write_tables(out)
    if as_json:
        print_json("tables", {"files": [str(path) for path in files]})
        return
    for path in files:
        open_console().print(str(path), markup=False)


@click.command("import", short_help=COMMANDS["import"][1])
@click.argument("folder", type=click.Path(path_type=Path))
@json_option
def import_(*, folder: Path, as_json: bool) -> None:
    """Add the customers and jobs of the tables in FOLDER; all of them or, with a fault, none.

    Columns are those that 'firstpiece job export' writes. An empty number asks for a new one.
    """
    from firstpiece.shop.job_tables import import_tables, read_tables

    done = import_tables(read_tables(folder))
    if as_json:
        print_json("imported", {"customers": list(done.customers), "jobs": list(done.jobs)})
        return
    text = _("{customers} customers and {jobs} jobs came in.").format(
        customers=len(done.customers), jobs=len(done.jobs)
    )
    open_console().print(text, markup=False)
