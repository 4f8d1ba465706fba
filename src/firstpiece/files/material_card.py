"""TOML cards to frozen values: threads, cloths, backings, hoops, machines, garments, prices.

The shipped cards lie in ``firstpiece/data``; a shop may give a folder of its own whose files of the
same names add cards or replace them.
"""

from __future__ import annotations

import tomllib
from dataclasses import MISSING, fields
from decimal import Decimal, InvalidOperation
from gettext import gettext as _
from importlib.resources import files as package_files
from typing import TYPE_CHECKING, Any, TypeVar

from moneyed import CurrencyDoesNotExist, Money, get_currency

from firstpiece.errors import CardError
from firstpiece.model.material import (
    RGB,
    Backing,
    Fabric,
    Garment,
    Hoop,
    Machine,
    Needle,
    Setup,
    Thread,
    ThreadColor,
    Weave,
)
from firstpiece.model.measured import Measured
from firstpiece.model.quote import PriceCard, QuantityBreak, RateBand

if TYPE_CHECKING:
    from pathlib import Path

T = TypeVar("T")
Table = dict[str, Any]

CARD_FILES = ("threads", "fabrics", "backings", "hoops", "machines", "garments", "prices")


class CardDrawer:
    """All cards of a shop, read once; look them up by kind and name.

    Parameters
    ----------
    own_folder : pathlib.Path or None
        Folder with the shop's own TOML files; missing files are fine.

    Raises
    ------
    CardError
        When a file is not TOML or a card is wrong.
    """

    def __init__(self, own_folder: Path | None = None) -> None:
        self._tables: dict[str, Table] = {}
        for kind in CARD_FILES:
            text = (package_files("firstpiece") / "data" / f"{kind}.toml").read_text("utf-8")
            table = _parse_toml(text, f"{kind}.toml")
            own = own_folder / f"{kind}.toml" if own_folder else None
            if own is not None and own.is_file():
                table.update(_parse_toml(own.read_text("utf-8"), str(own)))
            self._tables[kind] = table

    def names(self, kind: str) -> tuple[str, ...]:
        """Return the names of all cards of a kind (``garments``, ``threads``, …), as written."""
        entries = self._tables[kind].items()
        return tuple(n for n, card in entries if isinstance(card, dict) and n != "rack")

    @property
    def default_garment(self) -> str:
        """The garment used when none is asked for."""
        return str(self._tables["garments"].get("default", self.names("garments")[0]))

    def thread(self, name: str) -> Thread:
        """Return a thread card with its rack of colours."""
        table = self._card("threads", name)
        rack = table.pop("colors", "rack")
        colors = self._tables["threads"].get(rack, {}) if isinstance(rack, str) else rack
        tex = _measured(table["tex"], f"thread {name}, tex").value
        table["colors"] = tuple(
            ThreadColor(color, _rgb(code, f"thread colour {color}"), tex)
            for color, code in colors.items()
        )
        return _build(Thread, name, table)

    def fabric(self, name: str) -> Fabric:
        """Return a cloth card."""
        table = self._card("fabrics", name)
        table["weave"] = _choice(Weave, table.get("weave"), f"fabric {name}")
        return _build(Fabric, name, table)

    def backing(self, name: str) -> Backing:
        """Return a backing card."""
        return _build(Backing, name, self._card("backings", name))

    def hoop(self, name: str) -> Hoop:
        """Return a hoop card."""
        return _build(Hoop, name, self._card("hoops", name))

    def machine(self, name: str = "") -> Machine:
        """Return a machine card; the first one when no name is given."""
        chosen = name or self.names("machines")[0]
        return _build(Machine, chosen, self._card("machines", chosen))

    def garment(self, name: str) -> Garment:
        """Return a garment card."""
        table = self._card("garments", name)
        table["rgb"] = _rgb(table.pop("color", ""), f"garment {name}")
        table["hoops"] = tuple(table.get("hoops", ()))
        table["cautions"] = tuple(table.get("cautions", ()))
        needle = table.get("needle")
        if not isinstance(needle, dict):
            msg = _("a needle is missing")
            raise CardError(msg, where=f"garment {name}", remedy=_("give metric_size and point"))
        table["needle"] = Needle(int(needle["metric_size"]), str(needle["point"]))
        return _build(Garment, name, table)

    def setup(self, garment: str, *, thread: str = "", machine: str = "") -> Setup:
        """Return the garment with everything it is usually sewn with.

        Raises
        ------
        CardError
            When one of the cards does not exist.
        """
        card = self.garment(garment)
        return Setup(
            garment=card,
            fabric=self.fabric(card.fabric),
            backing=self.backing(card.backing),
            thread=self.thread(thread or card.thread),
            needle=card.needle,
            machine=self.machine(machine),
            hoops=tuple(self.hoop(h) for h in card.hoops),
        )

    def prices(self, name: str = "") -> PriceCard:
        """Return a price card; the first one when no name is given."""
        chosen = name or self.names("prices")[0]
        return _price_card(chosen, self._card("prices", chosen))

    def _card(self, kind: str, name: str) -> Table:
        card = self._tables[kind].get(name)
        if not isinstance(card, dict) or name == "rack":
            known = ", ".join(self.names(kind))
            msg = _("there is no card “{name}” among the {kind}").format(name=name[:60], kind=kind)
            raise CardError(msg, remedy=_("use one of: {known}").format(known=known))
        return dict(card)


def _parse_toml(text: str, where: str) -> Table:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        msg = _("the card file is not valid TOML ({fault})").format(fault=fault)
        raise CardError(msg, where=where, remedy=_("mend that line")) from fault


def _build(kind: type[T], name: str, table: Table) -> T:
    """Make a card value from a table; unknown, missing and wrong entries are told by name."""
    where = f"{kind.__name__.lower()} card “{name}”"
    entries = {f.name: f for f in fields(kind)}  # type: ignore[arg-type]
    if unknown := sorted(set(table) - set(entries)):
        msg = _("“{entry}” is not an entry of this card").format(entry=unknown[0])
        raise CardError(msg, where=where, remedy=_("remove it or mend its spelling"))
    values: Table = {"name": name}
    for key, value in table.items():
        is_number_card = entries[key].type == Measured.__name__ and not isinstance(value, Measured)
        values[key] = _measured(value, f"{where}, {key}") if is_number_card else value
    if missing := [n for n, f in entries.items() if n not in values and f.default is MISSING]:
        msg = _("“{entry}” is missing").format(entry=missing[0])
        raise CardError(msg, where=where, remedy=_("mend the card"))
    try:
        return kind(**values)
    except (TypeError, ValueError) as fault:
        raise CardError(str(fault), where=where, remedy=_("mend the card")) from fault


def _measured(entry: object, where: str) -> Measured:
    if not isinstance(entry, dict):
        msg = _("a number needs value, low, high, unit and source")
        raise CardError(msg, where=where, remedy=_("write { value = …, low = …, … }"))
    try:
        return Measured(
            float(entry["value"]),
            float(entry["low"]),
            float(entry["high"]),
            str(entry["unit"]),
            str(entry["source"]),
        )
    except (KeyError, TypeError, ValueError) as fault:
        is_gap = isinstance(fault, KeyError)
        msg = _("{entry} is missing").format(entry=fault) if is_gap else str(fault)
        raise CardError(msg, where=where, remedy=_("mend the card")) from fault


def _rgb(code: object, where: str) -> RGB:
    text = str(code).removeprefix("#")
    try:
        if len(text) != 6:
            raise ValueError(text)
        number = int(text, 16)
    except ValueError as fault:
        msg = _("“{code}” is not a colour").format(code=code)
        raise CardError(msg, where=where, remedy=_("write it like #2f7335")) from fault
    return (number >> 16, number >> 8 & 255, number & 255)


def _choice(kind: type[Weave], value: object, where: str) -> Weave:
    try:
        return kind(str(value))
    except ValueError as fault:
        known = ", ".join(kind)
        msg = _("“{value}” is not a kind of cloth").format(value=value)
        raise CardError(
            msg, where=where, remedy=_("use one of: {known}").format(known=known)
        ) from fault


def _price_card(name: str, table: Table) -> PriceCard:
    where = f"price card “{name}”"
    try:
        currency = str(table["currency"])
        coins = get_currency(currency).sub_unit

        def money(minor: object) -> Money:
            return Money(Decimal(int(str(minor))) / coins, currency)

        return PriceCard(
            name=name,
            label=str(table["label"]),
            currency=currency,
            rates=tuple(
                RateBand(r.get("up_to_stitches"), money(r["per_thousand_minor"]))
                for r in table["rates"]
            ),
            minimum_per_piece=money(table["minimum_per_piece_minor"]),
            setup_per_design=money(table["setup_per_design_minor"]),
            hooping_minutes=Decimal(str(table["hooping_minutes"])),
            finishing_minutes=Decimal(str(table["finishing_minutes"])),
            labour_per_hour=money(table["labour_per_hour_minor"]),
            blank_markup=Decimal(str(table["blank_markup"])),
            spoilage=Decimal(str(table["spoilage"])),
            breaks=tuple(
                QuantityBreak(int(b["from_pieces"]), Decimal(str(b["discount"])))
                for b in table["breaks"]
            ),
            tax=Decimal(str(table["tax"])),
            rush=Decimal(str(table.get("rush", 0))),
            deposit=Decimal(str(table.get("deposit", 0))),
            valid_days=int(table.get("valid_days", 0)),
        )
    except (KeyError, TypeError, ValueError, InvalidOperation, CurrencyDoesNotExist) as fault:
        msg = _("{entry} is missing or wrong").format(entry=fault)
        raise CardError(msg, where=where, remedy=_("mend the card")) from fault
