"""``firstpiece ask``: what the picture leaves open, as a message to send and a lettered picture."""

from __future__ import annotations

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

if TYPE_CHECKING:
    from pathlib import Path


@click.command(short_help="List what a picture leaves open, as a message to send.")
@picture_argument
@height_option
@job_options
@out_option
@json_option
def ask(
    *, picture: Path, height: float | None, out: Path | None, as_json: bool, **job: Any
) -> None:
    """Write the message that asks the customer what PICTURE leaves open.

    Without --height the questions are asked for a design 90 mm high. With --out the message
    (questions.txt) and a picture with the same letters (questions.png) are written.
    """
    asked, files = _ask(picture, height, out, job)
    if as_json:
        from firstpiece.files.result_json import questions_object

        names = [str(path) for path in files]
        print_json("questions", {**questions_object(asked.questions), "files": names})
        return
    # Not wrapped: the message is there to be pasted.
    click.echo(asked.questions.message)
    if out is not None:
        from firstpiece.cli.job_text import print_files

        print_files(open_console(), out, files)


def _ask(picture: Path, height: float | None, out: Path | None, job: dict[str, Any]) -> Any:
    data, options = read_picture(picture), trace_options(job)
    from firstpiece.files.safe_write import check_writable
    from firstpiece.shop.ask import USUAL_HEIGHT_MM, ask_customer
    from firstpiece.shop.outputs import write_questions
    from firstpiece.shop.prepare import PrepareRequest

    if out is not None:
        check_writable(out)
    request = PrepareRequest(
        data=data,
        name=picture.name,
        height_mm=USUAL_HEIGHT_MM if height is None else height,
        garment=job["garment"],
        thread=job["thread"],
        options=options,
    )
    with progress_bar() as report:
        asked = ask_customer(request, report=report)
        files = () if out is None else write_questions(asked, out)
    return asked, files
