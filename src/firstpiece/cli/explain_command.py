"""``firstpiece explain``: why each area of a picture is sewn as it is, and when."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json, progress_bar
from firstpiece.cli.options import area_option, height_option, job_options, picture_argument
from firstpiece.cli.prepare_command import request_of
from firstpiece.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from firstpiece.model.stitch import StitchPlan, Treatment


@click.command(short_help="Say why each area is sewn as it is, and when.")
@picture_argument
@height_option
@job_options
@area_option
@click.option(
    "--number", type=int, metavar="N", help="One area by its number; all in sewing order else."
)
@json_option
def explain(
    *, picture: Path, height: float | None, number: int | None, as_json: bool, **job: Any
) -> int:
    """Say in one sentence for each area of PICTURE's design why it is sewn as it is, and when.

    Areas are named by their numbers in regions.svg and plan.json. A last sentence tells how many
    thread changes there are and whether fewer are possible.
    """
    request = request_of(picture, height, {"quantity": 1, **job})
    from firstpiece.shop.prepare import prepare

    with progress_bar() as report:
        plan = prepare(request, report=report).plan
    told = chosen_treatments(plan, number)
    if as_json:
        areas = [{"region_id": t.region_id, "explanation": t.explanation} for t in told]
        print_json("explanations", {"areas": areas, "order": plan.order_explanation})
        return 0
    console = open_console()
    for treatment in told:
        thread = plan.threads[treatment.thread_index].name
        console.print(
            _("Area {number}, {thread}: {sentence}").format(
                number=treatment.region_id, thread=thread, sentence=treatment.explanation
            )
        )
    console.print(plan.order_explanation)
    return 0


def chosen_treatments(plan: StitchPlan, number: int | None) -> list[Treatment]:
    """Return the treatments to tell, in sewing order.

    Raises
    ------
    InputError
        When there is no such area.
    """
    told = sorted(plan.treatments, key=lambda t: t.sewn_order)
    if number is None:
        return told
    told = [t for t in told if t.region_id == number]
    if not told:
        raise InputError(
            _("area {number} is not an area that is sewn").format(number=number),
            where="--number",
            remedy=_("run the command without --number to see them all"),
        )
    return told
