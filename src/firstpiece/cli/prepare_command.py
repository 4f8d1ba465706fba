"""``firstpiece prepare``: one picture, one height, one garment, and everything that follows."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json, progress_bar
from firstpiece.cli.options import (
    area_option,
    height_option,
    job_options,
    out_option,
    picture_argument,
    read_picture,
    trace_options,
)
from firstpiece.errors import LengthError

if TYPE_CHECKING:
    from pathlib import Path

    from firstpiece.shop.prepare import PrepareRequest


@click.command(short_help="Turn a picture into a plan, a forecast, a price and papers.")
@picture_argument
@height_option
@job_options
@area_option
@click.option(
    "--quantity", type=int, default=1, metavar="N", help="Pieces to quote; 1 unless given."
)
@click.option(
    "--sew-from",
    type=click.Choice(["nearest", "centre", "bottom"]),
    help="Where each thread begins: where it is nearest, at the centre (stretchy cloth), at the "
    "bottom (caps); by the garment unless given.",
)
@click.option(
    "--true-shape",
    is_flag=True,
    help="Set outlines out so that the piece settles as drawn, by the forecast, instead of "
    "widening by the cloth card's one number.",
)
@click.option(
    "--mend",
    multiple=True,
    metavar="MARK",
    help="Apply the remedy of a finding: its number, with a letter for another than the first "
    "(3 or 3b); may be given again. See 'firstpiece remedies'.",
)
@out_option
@json_option
def prepare(
    *, picture: Path, height: float | None, out: Path | None, as_json: bool, **job: Any
) -> int:
    """Clean PICTURE, plan its stitches, forecast the sew-out and price it.

    PICTURE is a PNG, JPEG, WebP or SVG file. With --out everything is written into a folder:
    proof, run sheet, sew-out picture, stitch list, areas, plan, forecast and quote.
    """
    prepared, files = _prepare(picture, height, out, job)
    if as_json:
        from firstpiece.shop.job_objects import job_object

        print_json("job", job_object(prepared, files))
    else:
        from firstpiece.cli.job_text import print_files, print_job

        console = open_console()
        print_job(console, prepared)
        if out is not None:
            print_files(console, out, files)
    return 1 if prepared.blocks_sewing else 0


def request_of(picture: Path, height: float | None, job: dict[str, Any]) -> PrepareRequest:
    """Return the request that a command's options make.

    Raises
    ------
    LengthError, PictureError, InputError
    """
    if height is None:
        raise LengthError(
            _("the height is missing"), where="--height", remedy=_("add --height 90mm, for one")
        )
    data, options = read_picture(picture), trace_options(job)
    from firstpiece.model.stitch import SewFrom
    from firstpiece.shop.area_wishes import read_wishes
    from firstpiece.shop.prepare import PrepareRequest, check_height

    check_height(height)
    return PrepareRequest(
        data=data,
        name=picture.name,
        height_mm=height,
        garment=job["garment"],
        thread=job["thread"],
        quantity=job["quantity"],
        options=options,
        specs=read_wishes(job.get("areas", ())),
        true_shape=job.get("true_shape", False),
        sew_from=SewFrom(job["sew_from"]) if job.get("sew_from") else None,
    )


def _prepare(picture: Path, height: float | None, out: Path | None, job: dict[str, Any]) -> Any:
    request = request_of(picture, height, job)
    from firstpiece.files.safe_write import check_writable
    from firstpiece.shop.editing import write_job_folder
    from firstpiece.shop.prepare import prepare as prepare_request
    from firstpiece.shop.remedies import apply_remedy, find_remedy

    if out is not None:
        check_writable(out)
    with progress_bar() as report:
        prepared = prepare_request(request, report=report)
        if job["mend"]:
            # All marks name findings of the job as it was before any of them.
            for remedy in [find_remedy(prepared, mark) for mark in job["mend"]]:
                request = apply_remedy(request, remedy, prepared=prepared)
            prepared = prepare_request(request, report=report)
        files = () if out is None else write_job_folder(request, prepared, out, report=report)
    return prepared, files
