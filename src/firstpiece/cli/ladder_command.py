"""``firstpiece ladder``: what the same picture costs at several heights and numbers of pieces."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json, progress_bar
from firstpiece.cli.options import (
    CountsType,
    LengthsType,
    job_options,
    out_option,
    picture_argument,
    read_picture,
    trace_options,
)

if TYPE_CHECKING:
    from pathlib import Path

    from firstpiece.shop.budget import BudgetFit


@click.command(short_help="Price a picture at several heights and quantities.")
@picture_argument
@click.option(
    "--heights",
    type=LengthsType(),
    default="3in,5in,8in,12in",
    metavar="LENGTHS",
    help="Heights between commas; 3in,5in,8in,12in unless given.",
)
@click.option(
    "--quantities",
    type=CountsType(),
    default="1,12,48",
    metavar="COUNTS",
    help="Numbers of pieces between commas; 1,12,48 unless given.",
)
@click.option(
    "--budget",
    metavar="AMOUNT",
    help="Look also for the largest height whose price of one piece is within this.",
)
@job_options
@out_option
@json_option
def ladder(
    *, picture: Path, budget: str | None, out: Path | None, as_json: bool, **job: Any
) -> int:
    """Plan PICTURE anew at every height and show what one piece costs at every quantity.

    With --out the table is also drawn as price against height (ladder.png) and written as
    ladder.json. With --budget more heights are planned, at the first of the quantities.
    """
    table, files = _price(picture, out, job)
    fit = _fit(picture, budget, job) if budget else None
    if as_json:
        from firstpiece.shop.budget import fit_object
        from firstpiece.shop.job_objects import ladder_object

        answer = ladder_object(table, files)
        print_json("ladder", {**answer, "budget": fit_object(fit)} if fit else answer)
    else:
        from firstpiece.cli.job_text import print_files, print_ladder

        console = open_console()
        print_ladder(console, table)
        if fit is not None:
            console.print(fit.sentence, markup=False)
        if out is not None:
            print_files(console, out, files)
    return 1 if all(rung.n_blocking for rung in table.rungs) else 0


def _fit(picture: Path, budget: str, job: dict[str, Any]) -> BudgetFit:
    """Return the largest of the heights asked for, or between them, that fits a budget."""
    from firstpiece.shop.budget import fit_budget
    from firstpiece.shop.job_order import read_price
    from firstpiece.shop.prepare import PrepareRequest

    heights = job["heights"]
    request = PrepareRequest(
        data=read_picture(picture),
        name=picture.name,
        height_mm=heights[0],
        garment=job["garment"],
        thread=job["thread"],
        quantity=job["quantities"][0],
        options=trace_options(job),
    )
    with progress_bar() as report:
        return fit_budget(
            request,
            budget=read_price(budget),
            least_mm=min(heights),
            most_mm=max(heights),
            report=report,
        )


def _price(picture: Path, out: Path | None, job: dict[str, Any]) -> Any:
    data, options = read_picture(picture), trace_options(job)
    from firstpiece.files.safe_write import check_writable
    from firstpiece.shop.ladder import choose_runner, price_ladder
    from firstpiece.shop.outputs import write_ladder

    if out is not None:
        check_writable(out)
    with progress_bar() as report, choose_runner(len(job["heights"])) as runner:
        table = price_ladder(
            data,
            name=picture.name,
            heights_mm=job["heights"],
            quantities=job["quantities"],
            garment=job["garment"],
            thread=job["thread"],
            options=options,
            runner=runner,
            report=report,
        )
        files = () if out is None else write_ladder(table, out)
    return table, files
