"""``firstpiece ticket``: a code for each piece, checked before it is sewn; what became of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from firstpiece.cli.answers import json_option, open_console, print_json
from firstpiece.cli.code_options import code_option, paper_option
from firstpiece.cli.root import LazyGroup

if TYPE_CHECKING:
    from firstpiece.shop.tickets import Recorded

_HERE = "firstpiece.cli.ticket_commands"

CAUSES = ("needle", "thread", "hooping", "wrong place", "wrong design", "wrong garment", "pucker",
          "hole", "stain", "other")  # fmt: skip

COMMANDS: dict[str, tuple[str, str]] = {
    "make": (f"{_HERE}:make", "Write the tickets of a job, to print and cut."),
    "check": (f"{_HERE}:check", "Check that ticket, garment and loaded design agree."),
    "sewn": (f"{_HERE}:sewn", "Record that a piece is sewn."),
    "spoil": (f"{_HERE}:spoil", "Record that a piece is spoiled, and why."),
    "finish": (f"{_HERE}:finish", "Show the checklist, pack list and notes of a job."),
}

HELP = """Give every piece a ticket, and start none whose ticket, garment and design disagree.

\b
  firstpiece ticket make 7 --out tickets
  firstpiece ticket check J7L1P1H3F9A1C2DGD0W2V9Q --bag "apron-natural, M" --design 3f9a1c2d
  firstpiece ticket sewn J7L1P1H3F9A1C2DGD0W2V9Q
  firstpiece ticket finish 7
"""


@click.group(
    "ticket",
    help=HELP,
    cls=LazyGroup,
    table=COMMANDS,
    short_help="Give every piece a ticket; check it before the piece is started.",
    context_settings={"max_content_width": 100},
)
def ticket() -> None:
    """Hold the commands."""


code_argument = click.argument("code")


@click.command("make", short_help=COMMANDS["make"][1])
@click.argument("job", type=click.IntRange(1))
@click.option("--line", type=click.IntRange(1), metavar="N", help="Only this line's pieces.")
@click.option("--out", default=".", type=click.Path(path_type=Path), metavar="DIR",
              help="Folder for the tickets; this one unless given.")  # fmt: skip
@click.option("--labels", default="", metavar="GRID",
              help="On a grid of labels such as a4-3x8, or a roll like 62x29.")  # fmt: skip
@paper_option
@code_option
@json_option
def make(*, job: int, line: int | None, out: Path, as_json: bool, **how: str) -> None:
    """Write a ticket for every piece of JOB as a PDF: slips to cut, or labels."""
    from firstpiece.shop.code_print import CodePrint, write_tickets
    from firstpiece.shop.tickets import list_tickets

    files = write_tickets(job, out, line=line or 0, how=CodePrint(**how))
    if as_json:
        from firstpiece.shop.stock_objects import ticket_object

        made = [ticket_object(one) for one in list_tickets(job, line=line or 0)]
        print_json("tickets", {"tickets": made, "files": [str(path) for path in files]})
    else:
        click.echo("\n".join(str(path) for path in files))


@click.command("check", short_help=COMMANDS["check"][1])
@click.argument("code", default="")
@click.option("--bag", default="", metavar="CODE",
              help="The bag's code, the supplier's barcode, or the blank in words.")  # fmt: skip
@click.option("--design", required=True, metavar="HASH",
              help="The plan's hash, as the machine or the run sheet shows it.")  # fmt: skip
@click.option("--photo", type=click.Path(path_type=Path), metavar="FILE",
              help="Photograph with the codes of ticket and bag, instead of typing.")  # fmt: skip
@json_option
def check(*, code: str, bag: str, design: str, photo: Path | None, as_json: bool) -> int:
    """Check that ticket CODE, the garment in hand and the loaded design agree; log it either way.

    When they do, the piece counts as started. When they do not, what is wrong is said in large
    letters and the exit code is 1.
    """
    from firstpiece.shop.tickets import check_ticket

    if photo is not None:
        code, bag = _from_photo(photo, code, bag)
    checked = check_ticket(code, bag=bag, design=design)
    if as_json:
        from firstpiece.shop.stock_objects import checked_object

        print_json("ticket check", checked_object(checked))
        return int(not checked.agrees)
    from firstpiece.files.big_words import draw_big_words

    console = open_console()
    console.print(draw_big_words(checked.headline, columns=console.width), markup=False)
    for mismatch in checked.mismatches:
        console.print(f"{mismatch.headline}: {mismatch.sentence}", style="bold", markup=False)
    if checked.ticket is not None:
        console.print(checked.ticket.place, markup=False)
        console.print(checked.ticket.placement, markup=False)
    return int(not checked.agrees)


@click.command("sewn", short_help=COMMANDS["sewn"][1])
@code_argument
@json_option
def sewn(*, code: str, as_json: bool) -> None:
    """Record that the piece of ticket CODE is sewn; its thread is taken off the cones."""
    from firstpiece.shop.tickets import record_sewn

    _answer(record_sewn(code), as_json=as_json)


@click.command("spoil", short_help=COMMANDS["spoil"][1])
@code_argument
@click.option("--cause", type=click.Choice(CAUSES), default="other", show_default=True,
              help="What spoiled it.")  # fmt: skip
@click.option("--note", default="", metavar="TEXT", help="What was seen.")
@json_option
def spoil(*, code: str, cause: str, note: str, as_json: bool) -> None:
    """Record that the piece of ticket CODE is spoiled; it is then needed once more."""
    from firstpiece.model.ticket import Spoil
    from firstpiece.shop.tickets import record_spoiled

    _answer(record_spoiled(code, Spoil(cause), note=note), as_json=as_json)


@click.command("finish", short_help=COMMANDS["finish"][1])
@click.argument("job", type=click.IntRange(1))
@json_option
def finish(*, job: int, as_json: bool) -> int:
    """Show what is left to do for JOB: checklist, pack list, care note, message to the customer.

    The exit code is 1 while pieces are missing.
    """
    from firstpiece.shop.finishing import finish_job

    finishing = finish_job(job)
    missing = any(not line.is_complete for line in finishing.pack_list)
    if as_json:
        from firstpiece.shop.stock_objects import finishing_object

        print_json("finishing", finishing_object(finishing))
    else:
        from firstpiece.cli.ticket_text import print_finishing

        print_finishing(finishing)
    return int(missing)


def _from_photo(photo: Path, code: str, bag: str) -> tuple[str, str]:
    """Return the codes of a photograph; what was typed besides comes first."""
    from firstpiece.cli.options import read_picture
    from firstpiece.shop.tickets import read_photo

    seen_ticket, seen_bag = read_photo(read_picture(photo), name=photo.name)
    return code or seen_ticket, bag or seen_bag


def _answer(recorded: Recorded, *, as_json: bool) -> None:
    if as_json:
        from firstpiece.shop.stock_objects import recorded_object

        print_json("piece", recorded_object(recorded))
        return
    from firstpiece.cli.ticket_text import print_recorded

    print_recorded(recorded)
