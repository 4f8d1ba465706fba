"""``firstpiece day``: the agreed jobs on the shop's machines, by due date, with what is missing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from firstpiece.cli.answers import json_option, print_json
from firstpiece.cli.options import out_option
from firstpiece.cli.record_options import DayType

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path


@click.command("day", short_help="Plan the day: which job on which machine when, what is late.")
@click.option("--date", "start", type=DayType(), metavar="DAY",
              help="Day the plan begins, like 2031-04-05; today unless given.")  # fmt: skip
@out_option
@json_option
def day(*, start: date | None, out: Path | None, as_json: bool) -> int:
    """Plan the agreed jobs on the shop's machines: order, times, cones to change, what is missing.

    With --out the picture of the day is written as day.pdf and day.png. The exit code is 1 when a
    job will be late.
    """
    from firstpiece.shop.day import plan_shop_day, write_day

    planned = plan_shop_day(start)
    files = () if out is None else write_day(planned, out)
    if as_json:
        from firstpiece.shop.stock_objects import day_object

        print_json("day plan", day_object(planned, files))
    else:
        from firstpiece.cli.day_text import print_day

        print_day(planned)
        for path in files:
            click.echo(str(path))
    return int(bool(planned.plan.late))
