"""``firstpiece doctor``: whether everything is in place on this computer."""

from __future__ import annotations

from dataclasses import asdict
from gettext import gettext as _

import click

from firstpiece.cli.answers import json_option, open_console, print_json


@click.command(short_help="Check that everything is in place on this computer.")
@json_option
def doctor(*, as_json: bool) -> int:
    """Check Python, libraries, compiled code, database, the shop's folder, cards and fonts."""
    from firstpiece.shop.doctor import examine

    checks = examine()
    is_well = all(check.is_well for check in checks)
    if as_json:
        print_json("doctor", {"is_well": is_well, "checks": [asdict(c) for c in checks]})
        return 0 if is_well else 1
    console = open_console()
    width = max(len(check.name) for check in checks)
    for check in checks:
        mark = _("well") if check.is_well else _("not well")
        console.print(f"{check.name:{width}}  {mark:8}  {check.found}", markup=False)
        if not check.is_well:
            console.print(f"{'':{width}}  {'':8}  {check.remedy}", markup=False)
    return 0 if is_well else 1
