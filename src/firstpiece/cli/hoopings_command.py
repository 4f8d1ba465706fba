"""``firstpiece hoopings`` and ``firstpiece gang``: one design in many hoopings, or many in one."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json, progress_bar
from firstpiece.cli.options import (
    LengthType,
    area_option,
    height_option,
    job_options,
    out_option,
    picture_argument,
)
from firstpiece.cli.prepare_command import request_of

if TYPE_CHECKING:
    from pathlib import Path

hoop_option = click.option(
    "--hoop", default="", metavar="CARD", help="Hoop card; the garment's largest unless given."
)


@click.command(short_help="Part a design larger than its hoop into hoopings.")
@picture_argument
@height_option
@hoop_option
@job_options
@out_option
@json_option
def hoopings(
    *, picture: Path, height: float | None, hoop: str, out: Path | None, as_json: bool, **job: Any
) -> int:
    """Part PICTURE's design along the least harmful lines into hoopings, and plan each.

    Lines go between areas where they can and never through letters. Each hooping sews crosses that
    the next is laid on: its program first stops with the needle over them.
    """
    request = request_of(picture, height, {"quantity": 1, **job})
    from firstpiece.files.safe_write import check_writable
    from firstpiece.shop.hoopings import (
        hoop_design,
        hooping_words,
        hoopings_object,
        write_hoopings,
    )

    if out is not None:
        check_writable(out)
    with progress_bar() as report:
        hooped = hoop_design(request, hoop, report=report)
    files = () if out is None else write_hoopings(hooped, out)
    if as_json:
        names = [str(f) for f in files]
        print_json("hoopings", {**hoopings_object(hooped), "files": names})
        return 0
    console = open_console()
    console.print(
        _("{n} hoopings in {hoop}").format(n=len(hooped.hoopings), hoop=hooped.hoop.label)
    )
    for one, plan in zip(hooped.hoopings, hooped.plans, strict=True):
        console.print("  " + hooping_words(one))
        console.print("  " + _("  {n} stitches").format(n=plan.n_stitches))
    if out is not None:
        from firstpiece.cli.job_text import print_files

        print_files(console, out, files)
    return 0


@click.command(short_help="Gang patches in one hoop, each with border and cut line.")
@picture_argument
@height_option
@hoop_option
@click.option(
    "--border",
    default="",
    metavar="NAME",
    help="Thread of the border by its name on the rack; the design's darkest unless given.",
)
@click.option(
    "--border-width", type=LengthType(), metavar="LENGTH", help="2mm to 6mm; 3mm unless given."
)
@click.option(
    "--pieces", type=int, metavar="N", help="Patches in the hoop; as many as fit unless given."
)
@job_options
@area_option
@out_option
@json_option  # fmt: skip
def gang(
    *, picture: Path, height: float | None, out: Path | None, as_json: bool, **job: Any
) -> int:
    """Lay PICTURE's design several times in one hoop as patches, and prepare them together.

    Each patch gets a satin border and, outside it, a running line to cut along. All patches are
    sewn thread by thread, so a hoop full needs no more thread changes than one. --height is that
    of the art; the files are those of 'prepare'.
    """
    request = request_of(picture, height, {"quantity": 1, **job})
    from firstpiece.files.safe_write import check_writable
    from firstpiece.shop.hoopings import gang_design
    from firstpiece.shop.outputs import write_outputs

    if out is not None:
        check_writable(out)
    with progress_bar() as report:
        prepared, n = gang_design(
            request,
            job["hoop"],
            border=job["border"],
            border_mm=job["border_width"] or 3.0,
            n_pieces=job["pieces"],
            report=report,
        )
        files = () if out is None else write_outputs(prepared, out, report=report)
    if as_json:
        from firstpiece.shop.job_objects import job_object

        print_json("gang", {**job_object(prepared, files), "pieces": n})
    else:
        from firstpiece.cli.job_text import print_files, print_job

        console = open_console()
        console.print(_("{n} pieces in one hoop").format(n=n))
        print_job(console, prepared)
        if out is not None:
            print_files(console, out, files)
    return 1 if prepared.blocks_sewing else 0
