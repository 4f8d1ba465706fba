"""Days, counts and versions as options of the commands that keep records."""

from __future__ import annotations

from datetime import date
from gettext import gettext as _
from typing import Any

import click

from firstpiece.errors import InputError


class DayType(click.ParamType):  # type: ignore[type-arg]
    """A day as ISO 8601 writes it."""

    name = "day"

    def convert(
        self,
        value: Any,
        param: click.Parameter | None,
        ctx: click.Context | None,  # noqa: ARG002
    ) -> date:
        """Return the day; InputError when it is none."""
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(str(value).strip())
        except ValueError as fault:
            raise InputError(
                _("“{text}” is not a day").format(text=str(value)[:40]),
                where=param.opts[0] if param and param.opts else "",
                remedy=_("write it like 2031-04-05"),
            ) from fault


due_option = click.option(
    "--due", type=DayType(), metavar="DAY", help="Day it is wanted, like 2031-04-05."
)
seen_option = click.option(
    "--seen",
    type=click.IntRange(1),
    metavar="VERSION",
    help="Version you saw; when it has changed since, nothing is written and the exit code is 4.",
)
job_argument = click.argument("job", type=click.IntRange(1))
