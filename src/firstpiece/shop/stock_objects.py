"""Stock, buying list, day, tickets and finishing as plain objects, for ``--json``."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from firstpiece.model.ticket import bag_code
from firstpiece.shop.record_objects import value_object

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from firstpiece.model.buying import BuyingList, Shortage, SupplierOrder
    from firstpiece.model.day import HeadPlan, SewingJob, Slot
    from firstpiece.model.stock import Holding, Movement
    from firstpiece.model.ticket import Ticket
    from firstpiece.shop.day import ShopDay
    from firstpiece.shop.finishing import Finishing
    from firstpiece.shop.substitutes import Asked
    from firstpiece.shop.tickets import Checked, Recorded

Object = dict[str, Any]


def holding_object(holding: Holding) -> Object:
    """Return a thing in stock with its lots."""
    item = holding.item
    content: Object = value_object(item)
    del content["id"]
    return {
        "number": item.id,
        **content,
        "count": holding.count,
        "unit": "m" if item.key.kind.is_metred else "pieces",
        "lots": value_object(holding.lots),
        "bag_code": bag_code(item.id, item.key) if item.key.kind == "blank" else None,
    }


def movements_object(movements: Iterable[Movement]) -> list[Object]:
    """Return movements."""
    return [value_object(move) for move in movements]


def buying_object(found: BuyingList) -> Object:
    """Return need against stock and what to buy."""
    return {
        "needs": [
            {**value_object(share.need), "on_shelf": share.on_shelf, "incoming": share.incoming,
             "arrives": value_object(share.arrives), "missing": share.missing}
            for share in found.shares
        ],
        "shortages": [_shortage(short) for short in found.shortages],
        "orders": [order_object(order) for order in found.orders],
        "low": [value_object(level) for level in found.low],
        "unknown": value_object(found.unknown),
    }  # fmt: skip


def order_object(order: SupplierOrder) -> Object:
    """Return what to buy from one supplier."""
    lines = [
        {**value_object(line), "units": line.units, "count": line.count} for line in order.lines
    ]
    return {**value_object(order), "lines": lines}


def asked_object(asked: Asked) -> Object:
    """Return where consent to a substitute stands."""
    return {
        "job": asked.job,
        "line": asked.line,
        "item": asked.item.id,
        "label": asked.item.label,
        "consent": str(asked.consent),
        "message": asked.message,
    }


def day_object(day: ShopDay, files: Iterable[Path] = ()) -> Object:
    """Return a day plan; moments are in the shop's own time."""
    plan = day.plan
    return {
        "start": day.start.isoformat(),
        "heads": [_head(day, head) for head in plan.heads],
        "late": [slot.job.job for slot in plan.late],
        "late_bound": plan.late_bound,
        "n_changes": plan.n_changes,
        "changes_bound": plan.changes_bound,
        "waiting": [
            {"job": w.job.job, "title": w.job.title, "reason": w.reason} for w in plan.waiting
        ],
        "files": [str(path) for path in files],
    }


def ticket_object(ticket: Ticket) -> Object:
    """Return a ticket with its code."""
    return {**value_object(ticket), "code": ticket.code}


def checked_object(checked: Checked) -> Object:
    """Return whether a piece may be started."""
    return {
        "agrees": checked.agrees,
        "headline": checked.headline,
        "ticket": ticket_object(checked.ticket) if checked.ticket else None,
        "mismatches": value_object(checked.mismatches),
    }


def recorded_object(recorded: Recorded) -> Object:
    """Return a piece that was sewn or spoiled."""
    content: Object = value_object(recorded)
    return {**content, "ticket": ticket_object(recorded.ticket)}


def finishing_object(finishing: Finishing) -> Object:
    """Return what is left to do when a job is sewn."""
    content: Object = value_object(finishing)
    lines = [{**value_object(p), "is_complete": p.is_complete} for p in finishing.pack_list]
    return {**content, "pack_list": lines}


def _shortage(short: Shortage) -> Object:
    substitutes = [
        {**value_object(s), "item": s.item.id, "label": s.item.label} for s in short.substitutes
    ]
    return {**value_object(short), "substitutes": substitutes}


def _head(day: ShopDay, head: HeadPlan) -> Object:
    return {
        "name": head.head.name,
        "label": head.head.label,
        "first_loading": value_object(head.first_loading),
        "slots": [_slot(day, slot) for slot in head.slots],
    }


def _slot(day: ShopDay, slot: Slot) -> Object:
    begin = day.week.moment(day.start, slot.begin_min + 1e-6)
    return {
        **_job(slot.job),
        "begins": begin.isoformat(timespec="minutes"),
        "ends": day.week.moment(day.start, slot.end_min).isoformat(timespec="minutes"),
        "minutes": round(slot.end_min - slot.begin_min, 1),
        "late_minutes": round(slot.late_min, 1),
        "changes": value_object(slot.changes),
    }


def _job(job: SewingJob) -> Object:
    """Return a job; infinite minutes have no place in JSON."""
    content: Object = value_object(job)
    return {name: None if value == math.inf else value for name, value in content.items()}
