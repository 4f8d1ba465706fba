"""The words of colours, sizes and places that are the shop's own, so that they tell of nobody."""

from __future__ import annotations

from firstpiece.files.placement_table import read_placements
from firstpiece.model.job_erasure import KnownWords
from firstpiece.shop.book import open_book
from firstpiece.shop.cards import open_cards
from firstpiece.store.home import cards_folder
from firstpiece.store.stock import list_holdings


def known_words() -> KnownWords:
    """Return what the cards, the placement table and the list of stock say of garments."""
    cards = open_cards()
    garments = [cards.garment(name) for name in cards.names("garments")]
    places = read_placements(cards_folder()).placements
    with open_book().read() as connection:
        keys = [holding.item.key for holding in list_holdings(connection)]
    return KnownWords.of(
        (
            *(garment.color_name for garment in garments),
            *(garment.placement for garment in garments),
            *(text for place in places for text in (place.place, place.label)),
            *(text for key in keys for text in (key.color, key.size)),
        )
    )
