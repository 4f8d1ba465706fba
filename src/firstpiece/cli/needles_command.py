"""``firstpiece needles``: what is on the machines' needles, and what was put on or taken off."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json
from firstpiece.cli.record_options import DayType
from firstpiece.errors import InputError

if TYPE_CHECKING:
    from datetime import date

    from firstpiece.shop.needles import MachineNeedles


@click.command("needles", short_help="Tell what is on the machines' needles; the day begins there.")
@click.argument("machine", required=False, default="")
@click.option("--on", "put_on", multiple=True, metavar="N=COLOR",
              help="A cone put on needle N; may be given again.")  # fmt: skip
@click.option("--off", "taken_off", multiple=True, type=click.IntRange(1), metavar="N",
              help="A needle whose cone was taken off; may be given again.")  # fmt: skip
@click.option("--thread", default="", metavar="CARD",
              help="Rack of the cones put on; else the first that has the colour.")  # fmt: skip
@click.option("--size", type=int, default=0, metavar="NM",
              help="Metric size of the needles they are on, like 75; else as it is.")  # fmt: skip
@click.option("--point", type=click.Choice(("sharp", "ball")),
              help="Point of the needles they are on; else as it is.")  # fmt: skip
@click.option("--for", "job", type=click.IntRange(1), metavar="JOB",
              help="All cones that the day's plan wants for JOB are on.")  # fmt: skip
@click.option("--date", "start", type=DayType(), metavar="DAY",
              help="Day of that plan; today unless given.")  # fmt: skip
@json_option
def needles(*, machine: str, job: int | None, start: date | None, as_json: bool, **cones: Any
            ) -> None:  # fmt: skip
    """Tell what is on the needles of MACHINE, or of every machine, and keep what was changed."""
    from firstpiece.shop.needles import list_needles

    if job is not None:
        from firstpiece.shop.day import load_for_job, plan_shop_day

        machine = load_for_job(plan_shop_day(start), job).machine.name
    _change(machine, cones)
    found = list_needles(machine)
    if as_json:
        print_json("needles", {"machines": [_needles_object(one) for one in found]})
        return
    for one in found:
        _print_needles(one)


def _change(machine: str, cones: dict[str, Any]) -> None:
    from firstpiece.shop.needles import ConeChoice, list_needles, put_cone

    if not (cones["put_on"] or cones["taken_off"]):
        return
    machine = machine or list_needles()[0].machine.name
    for needle in cones["taken_off"]:
        put_cone(machine, needle, None)
    for text in cones["put_on"]:
        number, mark, color = text.partition("=")
        if not mark or not number.strip().isdecimal():
            raise InputError(
                _("“{text}” is not a needle with its cone").format(text=text[:40]),
                where="--on",
                remedy=_("write it like 3=poppy"),
            )
        choice = ConeChoice(color, cones["thread"], cones["size"], cones["point"] or "")
        put_cone(machine, int(number), choice)


def _needles_object(one: MachineNeedles) -> dict[str, Any]:
    from firstpiece.shop.record_objects import value_object

    cones = [{"needle": n, "cone": value_object(cone)} for n, cone in enumerate(one.cones, start=1)]
    return {"machine": one.machine.name, "label": one.machine.label, "needles": cones}


def _print_needles(one: MachineNeedles) -> None:
    console = open_console()
    console.print(f"{one.machine.label} ({one.machine.name})", style="bold", markup=False)
    for n, cone in enumerate(one.cones, start=1):
        words = f"{cone.color}, {cone.thread}, {cone.needle_words}" if cone else _("nothing")
        console.print(f"{n:>4}  {words}", markup=False, highlight=False)
