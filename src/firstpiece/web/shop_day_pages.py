"""The day on the page: what is sewn today on which machine, what is late, what is missing.

Input: the shop's plan from a day on. Output: the day in sentences, and its picture.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import Response

from firstpiece.paperwork.day_picture import say_changes, say_minutes
from firstpiece.shop import day as shop_day
from firstpiece.web.job_folder import UnknownJobError
from firstpiece.web.shop_forms import read_day
from firstpiece.web.shop_setup_pages import cone_hexes
from firstpiece.web.site import SiteParts  # noqa: TC001 - FastAPI reads it at run time

if TYPE_CHECKING:
    from datetime import date

    from firstpiece.model.day import Cone, Slot
    from firstpiece.shop.day import ShopDay

router = APIRouter()

AT_ONCE_MIN = 1e-6
"""A slot that begins at the end of a day begins in truth on the next morning."""

TYPES = {"day.pdf": "application/pdf", "day.png": "image/png"}


@dataclass(frozen=True, slots=True)
class Entry:
    """One job on a machine, in words."""

    slot: Slot
    day: date
    begins: str
    ends: str
    minutes: str
    changes: str
    late: str


@dataclass(frozen=True, slots=True)
class Machine:
    """What a machine sews on the first day, and afterwards."""

    label: str
    loading: str
    cones: tuple[tuple[int, Cone | None], ...]
    first: tuple[Entry, ...]
    later: tuple[Entry, ...]


@router.get("/day")
def show_day(site: SiteParts, start: str = "") -> Response:
    """Show the day; ``start`` names another than today."""
    planned = shop_day.plan_shop_day(read_day(start, _("the day")) if start else None)
    first_day = planned.week.moment(planned.start, 0.0).date()
    machines = describe_machines(planned, first_day)
    return site.render.page(
        "shop_day.html",
        place="/day",
        hexes=cone_hexes(site),
        planned=planned,
        first_day=first_day,
        is_today=not start and first_day == planned.start,
        machines=machines,
        first=[entry for machine in machines for entry in machine.first],
        late=[e for m in machines for e in (*m.first, *m.later) if e.slot.is_late],
    )


@router.get("/day/files/{name}")
def day_file(name: str, start: str = "") -> Response:
    """Return the picture of the day."""
    if name not in TYPES:
        raise UnknownJobError(_("there is no such picture"))
    planned = shop_day.plan_shop_day(read_day(start, _("the day")) if start else None)
    return Response(shop_day.make_day_files(planned)[name], media_type=TYPES[name])


def describe_machines(planned: ShopDay, first_day: date) -> tuple[Machine, ...]:
    """Return what each machine sews, split into the first working day and the days after it."""
    found = []
    for head in planned.plan.heads:
        entries = [_entry(planned, slot) for slot in head.slots]
        found.append(
            Machine(
                head.head.label,
                say_changes(head.first_loading),
                tuple(enumerate(head.head.loaded, start=1)),
                tuple(e for e in entries if e.day <= first_day),
                tuple(e for e in entries if e.day > first_day),
            )
        )
    return tuple(found)


def _entry(planned: ShopDay, slot: Slot) -> Entry:
    begins = planned.week.moment(planned.start, slot.begin_min + AT_ONCE_MIN)
    ends = planned.week.moment(planned.start, slot.end_min)
    is_over_night = ends.date() != begins.date()
    return Entry(
        slot,
        begins.date(),
        f"{begins:%H:%M}",
        f"{ends:%a %H:%M}".replace(" ", "\u00a0") if is_over_night else f"{ends:%H:%M}",
        say_minutes(slot.end_min - slot.begin_min).replace(" ", "\u00a0"),
        say_changes(slot.changes),
        say_minutes(slot.late_min).replace(" ", "\u00a0") if slot.is_late else "",
    )
