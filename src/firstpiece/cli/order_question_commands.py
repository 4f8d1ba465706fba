"""``firstpiece job`` continued: what an order leaves open, and the customer's answers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from firstpiece.cli.answers import json_option, open_console, print_json
from firstpiece.cli.job_commands import COMMANDS
from firstpiece.cli.options import out_option
from firstpiece.cli.record_options import job_argument, seen_option

if TYPE_CHECKING:
    from pathlib import Path


@click.command("ask", short_help=COMMANDS["ask"][1])
@job_argument
@click.option("--look", is_flag=True, help="Only show the message; do not record it as sent.")
@out_option
@seen_option
@json_option
def ask(*, job: int, look: bool, out: Path | None, seen: int | None, as_json: bool) -> None:
    """Write the message that asks what JOB leaves open, and record it as sent.

    With --out the message (questions.txt) and the lettered picture (questions.png) are written.
    Answers come back with 'firstpiece job answer JOB LETTER CHOICE'.
    """
    from firstpiece.files.safe_write import check_writable, write_together
    from firstpiece.shop.order_questions import ask_order, draw_asked, list_order_questions

    if out is not None:
        check_writable(out)
    found = list_order_questions(job) if look else ask_order(job, expected=seen)
    files = write_together(out, draw_asked(found)) if out is not None else ()
    if as_json:
        from firstpiece.shop.record_objects import value_object

        points = value_object(found.points)
        content = {"job": job, "job_version": found.job.version, "points": points}
        names = [str(path) for path in files]
        print_json("order questions", {**content, "message": found.message, "files": names})
        return
    # Not wrapped: the message is there to be pasted.
    click.echo(found.message)
    if out is not None:
        from firstpiece.cli.job_text import print_files

        print_files(open_console(), out, files)


@click.command("answer-rest", short_help=COMMANDS["answer-rest"][1])
@job_argument
@seen_option
@json_option
def answer_rest(*, job: int, seen: int | None, as_json: bool) -> None:
    """Take the first answer to every point of JOB that is open and has choices.

    The message says so: where the customer says nothing, the first answer is taken.
    """
    from firstpiece.cli.record_text import answer_job
    from firstpiece.shop.order_questions import answer_rest as take_first

    answer_job(take_first(job, expected=seen), as_json=as_json)


@click.command("answer", short_help=COMMANDS["answer"][1])
@job_argument
@click.argument("text")
@click.argument("choice", required=False)
@seen_option
@json_option
def answer(*, job: int, text: str, choice: str | None, seen: int | None, as_json: bool) -> None:
    """Record TEXT as the customer's answer, or with TEXT a letter CHOICE as the answer to it.

    CHOICE is the number of an answer, or free words: a day, sizes like '4 S, 6 M'. Lines and due
    date change at once, the design with the next 'firstpiece job revise'.
    """
    from firstpiece.cli.record_text import answer_job

    if choice is None:
        from firstpiece.shop.job_book import record_answer

        answer_job(record_answer(job, text, expected=seen), as_json=as_json)
        return
    from firstpiece.shop.order_questions import answer_order

    answer_job(answer_order(job, text, choice, expected=seen), as_json=as_json)
