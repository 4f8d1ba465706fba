"""``firstpiece job``: the shop's jobs; here are the commands that open, show and move one on."""

from __future__ import annotations

from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json
from firstpiece.cli.options import read_picture
from firstpiece.cli.record_options import DayType, due_option, job_argument, seen_option
from firstpiece.cli.root import LazyGroup

if TYPE_CHECKING:
    from datetime import date

_HERE = "firstpiece.cli.job_commands"
_ORDER = "firstpiece.cli.job_order_commands"
_DESIGN = "firstpiece.cli.job_design_commands"
_TABLES = "firstpiece.cli.job_table_commands"
_ASKING = "firstpiece.cli.order_question_commands"
_SEWOUT = "firstpiece.cli.sewout_commands"

STATES = ("asked", "drafted", "quoted", "agreed", "supplied", "sewing", "done", "dropped")

COMMANDS: dict[str, tuple[str, str]] = {
    "new": (f"{_HERE}:new", "Open a job."),
    "show": (f"{_HERE}:show", "Show everything kept about a job."),
    "list": (f"{_HERE}:list_", "List jobs, the first due first."),
    "search": (f"{_HERE}:search", "Find jobs and customers by words."),
    "change": (f"{_HERE}:change", "Change a job's title, message, customer or due date."),
    "add-line": (f"{_ORDER}:add_line", "Add pieces to a job's order."),
    "change-line": (f"{_ORDER}:change_line", "Change a line of a job's order."),
    "remove-line": (f"{_ORDER}:remove_line", "Take a line out of a job's order."),
    "picture": (f"{_DESIGN}:picture", "Keep a picture with a job."),
    "revise": (f"{_DESIGN}:revise", "Plan a picture and keep it as the job's new design."),
    "compare": (f"{_DESIGN}:compare", "Compare two revisions of a job's design."),
    "colorway": (f"{_DESIGN}:colorway", "Keep the design in other threads."),
    "question": (f"{_HERE}:question", "Record what was asked of the customer."),
    "ask": (f"{_ASKING}:ask", "Ask what a job's order and picture leave open."),
    "answer": (f"{_ASKING}:answer", "Record the customer's answer."),
    "answer-rest": (f"{_ASKING}:answer_rest", "Take the first answer to every open point."),
    "quote": (f"{_ORDER}:quote", "Show the price line by line, with cost and margin."),
    "offer": (f"{_ORDER}:offer", "Price what is ordered and record the offer."),
    "agree": (f"{_ORDER}:agree", "Record the customer's yes."),
    "move": (f"{_HERE}:move", "Move a job on: supplied, sewing, done."),
    "note": (f"{_HERE}:note", "Keep a remark with a job."),
    "sewn-out": (f"{_SEWOUT}:sewn_out", "Keep how a job's design sewed out."),
    "sewn-before": (f"{_SEWOUT}:sewn_before", "Show how a garment sewed before."),
    "reorder": (f"{_ORDER}:reorder", "Open a new job that repeats a past one."),
    "drop": (f"{_HERE}:drop", "Give a job up; it stays in the store."),
    "take-up": (f"{_HERE}:take_up", "Take a dropped job up again."),
    "export": (f"{_TABLES}:export", "Write all customers and jobs as CSV tables."),
    "import": (f"{_TABLES}:import_", "Add customers and jobs from CSV tables."),
}


HELP = """Keep the shop's jobs, from the first message to the finished pieces.

\b
  firstpiece job new "Aprons for the harvest" --due 2031-09-01
  firstpiece job add-line 1 --on apron-natural --count 12
  firstpiece job revise 1 logo.png --height 90mm
  firstpiece job offer 1
  firstpiece job agree 1 --by "Ida, by letter"
"""


@click.group(
    "job",
    help=HELP,
    cls=LazyGroup,
    table=COMMANDS,
    short_help="Keep the shop's jobs: orders, designs, what was agreed.",
    context_settings={"max_content_width": 100},
)
def job() -> None:
    """Hold the commands."""


@click.command("new", short_help=COMMANDS["new"][1])
@click.argument("title")
@click.option("--customer", type=click.IntRange(1), metavar="N", help="The customer's number.")
@click.option("--message", default="", metavar="TEXT", help="What the customer wrote.")
@due_option
@click.option(
    "--picture",
    "pictures",
    type=click.Path(path_type=Path),
    multiple=True,
    metavar="FILE",
    help="A picture that came with it; may be given again.",
)
@json_option
def new(
    *,
    title: str,
    customer: int | None,
    message: str,
    due: date | None,
    pictures: tuple[Path, ...],
    as_json: bool,
) -> None:
    """Open a job under a TITLE of a few words."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.shop.job_intake import open_with_pictures

    received = [(path.name, read_picture(path)) for path in pictures]
    opened = open_with_pictures(
        received, title=title, customer=customer or 0, message=message, due=due
    )
    answer_job(opened, as_json=as_json)


@click.command("show", short_help=COMMANDS["show"][1])
@job_argument
@json_option
def show(*, job: int, as_json: bool) -> None:
    """Show JOB: its order, its designs, what was agreed, and its log."""
    from firstpiece.shop.job_book import read_page

    page = read_page(job)
    if as_json:
        from firstpiece.shop.record_objects import page_object

        print_json("job page", page_object(page))
        return
    from firstpiece.cli.record_text import print_page

    print_page(page)


@click.command("list", short_help=COMMANDS["list"][1])
@click.option("--all", "everything", is_flag=True, help="Finished and dropped ones too.")
@click.option("--state", type=click.Choice(STATES), help="Only jobs in this state.")
@click.option("--customer", type=click.IntRange(1), metavar="N", help="Only this customer's.")
@click.option("--due-by", type=DayType(), metavar="DAY", help="Only those due up to this day.")
@click.option("--limit", type=click.IntRange(1, 1000), default=50, show_default=True, metavar="N",
              help="At most this many.")  # fmt: skip
@json_option
def list_(
    *,
    everything: bool,
    state: str | None,
    customer: int | None,
    due_by: date | None,
    limit: int,
    as_json: bool,
) -> None:
    """List jobs, the first due first; open ones unless asked otherwise."""
    from firstpiece.model.job import JobState
    from firstpiece.shop.job_book import list_jobs
    from firstpiece.store.jobs import JobFilter

    wanted = JobFilter(
        is_open=None if everything or state else True,
        state=JobState(state) if state else None,
        customer=customer,
        due_by=due_by,
    )
    found = list_jobs(wanted, limit=limit)
    if as_json:
        from firstpiece.shop.record_objects import summary_object

        more = found.next_after is not None
        print_json("jobs", {"jobs": [summary_object(j) for j in found.jobs], "more": more})
        return
    from firstpiece.cli.record_text import print_jobs

    if found.jobs:
        print_jobs(found.jobs)
        if found.next_after is not None:
            open_console().print(_("and more: raise --limit"), markup=False)
    else:
        open_console().print(_("No jobs."), markup=False)


@click.command("search", short_help=COMMANDS["search"][1])
@click.argument("words", nargs=-1, required=True)
@click.option("--limit", type=click.IntRange(1, 1000), default=50, show_default=True, metavar="N",
              help="At most this many of each.")  # fmt: skip
@json_option
def search(*, words: tuple[str, ...], limit: int, as_json: bool) -> None:
    """Find jobs and customers that have a word beginning with each of WORDS, newest first."""
    from firstpiece.shop.job_book import search_shop

    found = search_shop(" ".join(words), limit=limit)
    if as_json:
        from firstpiece.shop.record_objects import found_object

        print_json("found", found_object(found))
        return
    from firstpiece.cli.record_text import print_customers, print_jobs

    if found.customers:
        print_customers(found.customers)
    if found.jobs:
        print_jobs(found.jobs)
    if not found.customers and not found.jobs:
        open_console().print(_("Nothing found."), markup=False)


@click.command("change", short_help=COMMANDS["change"][1])
@job_argument
@click.option("--title", metavar="TEXT", help="New title.")
@click.option("--message", metavar="TEXT", help="What the customer wrote.")
@click.option("--customer", type=click.IntRange(1), metavar="N", help="The customer's number.")
@due_option
@click.option("--no-due", is_flag=True, help="Take the due date away.")
@seen_option
@json_option
def change(*, job: int, seen: int | None, no_due: bool, as_json: bool, **fields: Any) -> None:
    """Change what JOB says at its head."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.shop.job_book import change_head

    changes = {name: value for name, value in fields.items() if value is not None}
    if no_due:
        changes["due"] = None
    answer_job(change_head(job, changes, expected=seen), as_json=as_json)


@click.command("question", short_help=COMMANDS["question"][1])
@job_argument
@click.argument("text")
@seen_option
@json_option
def question(*, job: int, text: str, seen: int | None, as_json: bool) -> None:
    """Record that TEXT was asked about JOB; it then waits for the customer's answer."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.shop.job_book import record_question

    answer_job(record_question(job, text, expected=seen), as_json=as_json)


@click.command("move", short_help=COMMANDS["move"][1])
@job_argument
@click.argument("state", type=click.Choice(("agreed", "supplied", "sewing", "done")))
@seen_option
@json_option
def move(*, job: int, state: str, seen: int | None, as_json: bool) -> None:
    """Move JOB to a STATE: agreed, supplied, sewing or done."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.model.job import JobState
    from firstpiece.shop.job_book import step_job

    answer_job(step_job(job, JobState(state), expected=seen), as_json=as_json)


@click.command("note", short_help=COMMANDS["note"][1])
@job_argument
@click.argument("text")
@seen_option
@json_option
def note(*, job: int, text: str, seen: int | None, as_json: bool) -> None:
    """Keep TEXT with JOB."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.shop.job_book import note_job

    answer_job(note_job(job, text, expected=seen), as_json=as_json)


@click.command("drop", short_help=COMMANDS["drop"][1])
@job_argument
@click.option("--reason", default="", metavar="TEXT", help="Why.")
@seen_option
@json_option
def drop(*, job: int, reason: str, seen: int | None, as_json: bool) -> None:
    """Give JOB up."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.shop.job_book import drop_job

    answer_job(drop_job(job, reason=reason, expected=seen), as_json=as_json)


@click.command("take-up", short_help=COMMANDS["take-up"][1])
@job_argument
@seen_option
@json_option
def take_up(*, job: int, seen: int | None, as_json: bool) -> None:
    """Take JOB up again after it was dropped."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.shop.job_book import take_up_job

    answer_job(take_up_job(job, expected=seen), as_json=as_json)
