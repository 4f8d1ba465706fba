"""A thing for the list of stock as a person types it, completed from the cards."""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import Any

from firstpiece.errors import InputError
from firstpiece.model.stock import (
    Cloth,
    Feel,
    Holding,
    StockItem,
    SupplyKey,
    SupplyKind,
    read_fibres,
)
from firstpiece.shop.cards import open_cards
from firstpiece.shop.job_order import read_price
from firstpiece.shop.stock_book import add_item, change_item, read_stock

BOBBIN_METRES = 100
"""On a full bobbin when nobody says (guess)."""


@dataclass(frozen=True, slots=True)
class StockEntry:
    """What was typed; empty fields are completed from the cards."""

    kind: str
    name: str
    color: str = ""
    size: str = ""
    label: str = ""
    supplier: str = ""
    pack: int = 1
    each: str | None = None
    metres: int | None = None
    fibres: str = ""
    weight: float = 0.0
    feel: str = "smooth"
    barcode: str = ""


def add_entry(entry: StockEntry) -> Holding:
    """Put a thing on the list of stock.

    Raises
    ------
    CardError
        When a blank, a thread or a backing names no card.
    InputError, JobError
        When a field is wrong, or it is on the list already.
    """
    kind = SupplyKind(entry.kind)
    item = StockItem(
        id=0,
        key=SupplyKey(kind, entry.name, entry.color or _own_color(kind, entry.name), entry.size),
        label=entry.label,
        supplier=entry.supplier,
        pack=entry.pack,
        each=read_price(entry.each) if entry.each else None,
        metres_each=entry.metres or _own_metres(kind, entry.name),
        cloth=_cloth(entry) if kind == SupplyKind.BLANK else None,
        barcode=entry.barcode,
    )
    return Holding(add_item(item))


@dataclass(frozen=True, slots=True)
class ItemChange:
    """How a thing is bought, as typed; None leaves a field as it is, ``each`` empty forgets it."""

    label: str | None = None
    supplier: str | None = None
    pack: int | None = None
    each: str | None = None
    fibres: str | None = None
    weight: float | None = None
    feel: str | None = None
    barcode: str | None = None


def change_entry(number: int, change: ItemChange, *, expected: int | None = None) -> StockItem:
    """Change how a thing is bought and what its cloth is.

    Raises
    ------
    JobError, StaleError, InputError
        Cloth is told of blanks only.
    """
    fields = ("label", "supplier", "pack", "barcode")
    said = {name: getattr(change, name) for name in fields}
    changes: dict[str, Any] = {name: value for name, value in said.items() if value is not None}
    if change.each is not None:
        changes["each"] = read_price(change.each) if change.each else None
    told: dict[str, Any] = {
        "fibres": read_fibres(change.fibres) if change.fibres is not None else None,
        "weight_gsm": change.weight,
        "feel": Feel(change.feel) if change.feel else None,
    }
    cloth_changes = {name: value for name, value in told.items() if value is not None}
    if cloth_changes:
        cloth = read_stock(number).holding.item.cloth
        if cloth is None:
            raise InputError(
                _("only a blank has a cloth"), remedy=_("leave out fibres, weight and feel")
            )
        changes["cloth"] = replace(cloth, **cloth_changes)
    return change_item(number, changes, expected=expected)


def _own_color(kind: SupplyKind, name: str) -> str:
    return open_cards().garment(name).color_name if kind == SupplyKind.BLANK else ""


def _own_metres(kind: SupplyKind, name: str) -> int:
    if kind == SupplyKind.THREAD:
        return round(open_cards().thread(name).cone.value)
    return BOBBIN_METRES if kind == SupplyKind.BOBBIN else 0


def _cloth(entry: StockEntry) -> Cloth:
    """Return a blank's cloth; its weight is the cloth card's unless typed."""
    cards = open_cards()
    garment = cards.garment(entry.name)
    weight = entry.weight or cards.fabric(garment.fabric).weight.value
    return Cloth(garment.kind, read_fibres(entry.fibres), weight, Feel(entry.feel))
