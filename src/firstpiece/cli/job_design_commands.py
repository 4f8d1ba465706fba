"""``firstpiece job`` continued: its pictures and designs."""

from __future__ import annotations

from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json, progress_bar
from firstpiece.cli.job_commands import COMMANDS
from firstpiece.cli.options import (
    height_option,
    job_options,
    out_option,
    read_picture,
    trace_options,
)
from firstpiece.cli.record_options import job_argument, seen_option
from firstpiece.errors import LengthError

if TYPE_CHECKING:
    from firstpiece.shop.prepare import PrepareRequest


@click.command("picture", short_help=COMMANDS["picture"][1])
@job_argument
@click.argument("file", type=click.Path(path_type=Path))
@seen_option
@json_option
def picture(*, job: int, file: Path, seen: int | None, as_json: bool) -> None:
    """Keep the picture in FILE with JOB, without the place and person it may tell of."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.shop.job_design import receive_picture

    data = read_picture(file)
    answer_job(receive_picture(job, data, name=file.name, expected=seen), as_json=as_json)


@click.command("revise", short_help=COMMANDS["revise"][1])
@job_argument
@click.argument("picture", type=click.Path(path_type=Path), required=False)
@height_option
@job_options
@click.option("--reason", default="", metavar="TEXT", help="Why the design changes.")
@out_option
@seen_option
@json_option
def revise(
    *,
    job: int,
    picture: Path | None,
    height: float | None,
    reason: str,
    seen: int | None,
    **rest: Any,
) -> int:
    """Plan PICTURE (or the job's last one) for JOB and keep it as its new design.

    Like 'firstpiece prepare', whose options it takes, and besides the plan is kept with the job.
    What the customer answered is followed; without --height theirs or the last one is taken.
    """
    from firstpiece.shop.job_design import revise_job, wished_height

    height = height or wished_height(job)
    if height is None:
        raise LengthError(
            _("the height is missing"), where="--height", remedy=_("add --height 90mm, for one")
        )
    request = _request(picture, height, rest)
    from firstpiece.files.safe_write import check_writable
    from firstpiece.shop.outputs import write_outputs

    out: Path | None = rest["out"]
    if out is not None:
        check_writable(out)
    with progress_bar() as report:
        done = revise_job(job, request, reason=reason, expected=seen, report=report)
        files = () if out is None else write_outputs(done.prepared, out, report=report)
    if rest["as_json"]:
        from firstpiece.shop.job_objects import job_object
        from firstpiece.shop.record_objects import record_object

        prepared = job_object(done.prepared, files)
        print_json("revision", {"job": record_object(done.job), "prepared": prepared})
    else:
        from firstpiece.cli.job_text import print_files, print_job
        from firstpiece.cli.record_text import answer_job

        answer_job(done.job, as_json=False)
        console = open_console()
        print_job(console, done.prepared)
        if out is not None:
            print_files(console, out, files)
    return 1 if done.prepared.blocks_sewing else 0


@click.command("compare", short_help=COMMANDS["compare"][1])
@job_argument
@click.argument("before", type=click.IntRange(1))
@click.argument("after", type=click.IntRange(1))
@click.option("--inches", is_flag=True, help="Tell the height in inches.")
@json_option
def compare(*, job: int, before: int, after: int, inches: bool, as_json: bool) -> None:
    """Show what revision AFTER of JOB has more or less of than revision BEFORE, area by area.

    Both are priced for the pieces that are ordered now.
    """
    from firstpiece.shop.job_design import compare_areas, compare_priced

    priced = compare_priced(job, before, after, unit="in" if inches else "mm")
    change = priced.change
    areas = compare_areas(job, before, after)
    if as_json:
        from firstpiece.shop.compare import change_object as area_object
        from firstpiece.shop.record_objects import change_object

        areas_told = [area_object(area) for area in areas]
        told = {**change_object(change), "areas": areas_told, "sentence": priced.sentence}
        print_json("comparison", told)
        return
    from firstpiece.cli.sentences import area_change_text, change_text

    console = open_console()
    console.print(priced.sentence, style="bold", markup=False)
    console.print(change_text(change), markup=False)
    for area in areas:
        console.print(area_change_text(area), markup=False)


@click.command("colorway", short_help=COMMANDS["colorway"][1])
@job_argument
@click.argument("name")
@click.option("--threads", required=True, metavar="NAME,NAME",
              help="A thread for each thread of the design, in its order.")  # fmt: skip
@seen_option
@json_option
def colorway(*, job: int, name: str, threads: str, seen: int | None, as_json: bool) -> None:
    """Keep JOB's design in other threads under NAME."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.shop.job_design import set_colorway

    names = [thread.strip() for thread in threads.split(",")]
    answer_job(set_colorway(job, name, names, expected=seen), as_json=as_json)


def _request(picture: Path | None, height: float, job: dict[str, Any]) -> PrepareRequest:
    data, options = read_picture(picture) if picture else b"", trace_options(job)
    from firstpiece.shop.prepare import PrepareRequest, check_height

    check_height(height)
    return PrepareRequest(
        data=data,
        name=picture.name if picture else "",
        height_mm=height,
        garment=job["garment"],
        thread=job["thread"],
        options=options,
    )
