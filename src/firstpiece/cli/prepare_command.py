"""``firstpiece prepare``: one picture, one height, one garment, and everything that follows."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json, progress_bar
from firstpiece.cli.options import (
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


@click.command(short_help="Turn a picture into a plan, a forecast, a price and papers.")
@picture_argument
@height_option
@job_options
@click.option(
    "--quantity", type=int, default=1, metavar="N", help="Pieces to quote; 1 unless given."
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


def _prepare(picture: Path, height: float | None, out: Path | None, job: dict[str, Any]) -> Any:
    if height is None:
        raise LengthError(
            _("the height is missing"), where="--height", remedy=_("add --height 90mm, for one")
        )
    data, options = read_picture(picture), trace_options(job)
    from firstpiece.files.safe_write import check_writable
    from firstpiece.shop.outputs import write_outputs
    from firstpiece.shop.prepare import check_height, prepare_picture

    check_height(height)
    if out is not None:
        check_writable(out)
    with progress_bar() as report:
        prepared = prepare_picture(
            data,
            name=picture.name,
            height_mm=height,
            garment=job["garment"],
            thread=job["thread"],
            quantity=job["quantity"],
            options=options,
            report=report,
        )
        files = () if out is None else write_outputs(prepared, out, report=report)
    return prepared, files
