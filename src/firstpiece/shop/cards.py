"""The cards a shop works with: the shipped ones with its own laid over them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from firstpiece.files.material_card import CARD_FILES, CardDrawer
from firstpiece.store.home import cards_folder

if TYPE_CHECKING:
    from collections.abc import Callable


class _Labelled(Protocol):
    @property
    def label(self) -> str: ...


@dataclass(frozen=True, slots=True)
class CardLine:
    """One card as a list shows it; ``is_default`` marks the garment used when none is named."""

    kind: str
    name: str
    label: str
    is_default: bool


def open_cards() -> CardDrawer:
    """Return the shop's drawer of cards.

    Raises
    ------
    CardError
        When one of the shop's own card files is wrong.
    """
    return CardDrawer(cards_folder())


def list_cards(kind: str = "") -> tuple[CardLine, ...]:
    """Return the cards of one kind, or of every kind, in the order they are written.

    Parameters
    ----------
    kind : str
        ``garments``, ``threads``, ``fabrics``, ``backings``, ``hoops``, ``machines``, ``prices``.
    """
    drawer = open_cards()
    read: dict[str, Callable[[str], _Labelled]] = {
        "garments": drawer.garment,
        "threads": drawer.thread,
        "fabrics": drawer.fabric,
        "backings": drawer.backing,
        "hoops": drawer.hoop,
        "machines": drawer.machine,
        "prices": drawer.prices,
    }
    kinds = (kind,) if kind else tuple(k for k in read if k in CARD_FILES)
    return tuple(
        CardLine(k, name, read[k](name).label, k == "garments" and name == drawer.default_garment)
        for k in kinds
        for name in drawer.names(k)
    )
