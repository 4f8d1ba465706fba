"""``firstpiece job`` continued: how a sew-out went, and how a garment sewed before."""

from __future__ import annotations

from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json
from firstpiece.cli.job_commands import COMMANDS
from firstpiece.cli.options import read_picture
from firstpiece.cli.record_options import job_argument, seen_option

if TYPE_CHECKING:
    from firstpiece.store.sewouts import SewnBefore


@click.command("sewn-out", short_help=COMMANDS["sewn-out"][1])
@job_argument
@click.option("--minutes", type=float, required=True, metavar="N",
              help="Minutes at the machine for the piece.")  # fmt: skip
@click.option("--rating", type=int, required=True, metavar="1–5",
              help="1 (not to be sold) to 5 (as it should be).")  # fmt: skip
@click.option("--saw", default="", metavar="TEXT", help="What was seen.")
@click.option("--change", default="", metavar="TEXT", help="What changes next time.")
@click.option("--photo", "photos", type=click.Path(path_type=Path), multiple=True, metavar="FILE",
              help="A photo of the piece; may be given again.")  # fmt: skip
@click.option("--revision", type=click.IntRange(1), metavar="N",
              help="Revision sewn; without it the agreed one, else the newest.")  # fmt: skip
@click.option("--on", "garment", default="", metavar="CARD",
              help="Garment it was sewn on; without it the revision's.")  # fmt: skip
@seen_option
@json_option
def sewn_out(
    *,
    job: int,
    saw: str,
    photos: tuple[Path, ...],
    revision: int | None,
    seen: int | None,
    as_json: bool,
    **rest: Any,
) -> None:
    """Keep how the design of JOB sewed out, with the plan and the cards it was sewn with."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.shop.sewout_log import Seen, record_sewout

    told = Seen(
        seen=saw,
        photos=tuple((path.name, read_picture(path)) for path in photos),
        revision=revision or 0,
        **rest,
    )
    answer_job(record_sewout(job, told, expected=seen), as_json=as_json)


@click.command("sewn-before", short_help=COMMANDS["sewn-before"][1])
@click.argument("garment")
@click.option("--limit", type=click.IntRange(1, 1000), default=20, show_default=True, metavar="N",
              help="At most this many.")  # fmt: skip
@json_option
def sewn_before(*, garment: str, limit: int, as_json: bool) -> None:
    """Show how earlier jobs sewed on the blank of the card GARMENT, newest first."""
    from firstpiece.shop.sewout_log import how_it_sewed

    found = how_it_sewed(garment, limit=limit)
    if as_json:
        from firstpiece.shop.record_objects import value_object

        print_json("sewn before", {"garment": garment, "sewouts": value_object(found)})
    elif found:
        _print_sewouts(found)
    else:
        open_console().print(_("Nothing was sewn out on it yet."), markup=False)


def _print_sewouts(found: tuple[SewnBefore, ...]) -> None:
    from firstpiece.cli.record_text import moment_text
    from firstpiece.shop.sewout_log import has_same_cards

    console = open_console()
    for one in found:
        sewout = one.sewout
        head = _("job {job} · {title} · {when}").format(
            job=one.job, title=one.title or _("erased"), when=moment_text(sewout.at)
        )
        facts = _("rating {rating} of 5, {minutes:g} min, plan {plan}, {cards}").format(
            rating=sewout.rating,
            minutes=sewout.minutes,
            plan=sewout.plan_id,
            cards=_("cards as today") if has_same_cards(sewout) else _("cards since changed"),
        )
        console.print(head, style="bold", markup=False)
        console.print(f"  {facts}", markup=False)
        for label, said in ((_("seen"), sewout.seen), (_("next time"), sewout.change)):
            if said:
                console.print(f"  {label}: {' '.join(said.split())}", markup=False)
        if sewout.photos:
            marks = ", ".join(photo.hash[:12] for photo in sewout.photos)
            console.print("  " + _("photos: {marks}").format(marks=marks), markup=False)
