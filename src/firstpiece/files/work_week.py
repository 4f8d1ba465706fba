"""The shop's working hours out of its ``settings.toml``; Monday to Friday, 9 to 17, without any."""

from __future__ import annotations

import tomllib
from datetime import time
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.errors import InputError
from firstpiece.model.day import WorkWeek

if TYPE_CHECKING:
    from pathlib import Path

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def read_work_week(path: Path) -> WorkWeek:
    """Return the hours of a settings file's ``[hours]`` (``days``, ``begins``, ``ends``).

    Raises
    ------
    InputError
        When the file or the hours cannot be read.
    """
    try:
        table = tomllib.loads(path.read_text("utf-8")).get("hours", {})
        return _week(table)
    except FileNotFoundError:
        return WorkWeek()
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, ValueError, TypeError) as fault:
        raise InputError(
            _("the shop's hours cannot be read"),
            where=str(path),
            remedy=_('write [hours] with days = ["mon", "tue"], begins = "09:00", ends = "17:00"'),
        ) from fault


def _week(table: dict[str, Any]) -> WorkWeek:
    usual = WorkWeek()
    days = tuple(DAYS.index(day) for day in table.get("days", DAYS[:5]))
    begins = time.fromisoformat(table["begins"]) if "begins" in table else usual.begins
    ends = time.fromisoformat(table["ends"]) if "ends" in table else usual.ends
    return WorkWeek(days, begins, ends)
