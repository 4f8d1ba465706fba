"""A thing for the list of stock as a person types it, completed from the cards."""

from __future__ import annotations

from dataclasses import dataclass

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
from firstpiece.shop.stock_book import add_item

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
