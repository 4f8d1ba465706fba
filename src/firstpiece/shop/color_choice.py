"""Which of the rack's colours read on a garment, and how close rows must lie to hide its cloth.

Input: card names and a tolerance. Output: one row per colour, the clearest first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from firstpiece.forecasting.colourways import read_threads
from firstpiece.forecasting.spacing_choice import solve_spacing
from firstpiece.shop.cards import open_cards

if TYPE_CHECKING:
    from firstpiece.files.material_card import CardDrawer
    from firstpiece.forecasting.colourways import ColorReading
    from firstpiece.forecasting.spacing_choice import SpacingChoice
    from firstpiece.model.material import Setup


@dataclass(frozen=True, slots=True)
class ColorChoice:
    """How one colour reads on the garment and the rows it needs there."""

    reading: ColorReading
    rows: SpacingChoice


def choose_colors(
    *, garment: str = "", thread: str = "", tolerance: float = 5.0, cards: CardDrawer | None = None
) -> tuple[Setup, tuple[ColorChoice, ...]]:
    """Return the set-up and its rack's colours, the clearest on this cloth first.

    Parameters
    ----------
    garment, thread : str
        Card names; empty takes the shop's default garment and the garment's usual thread.
    tolerance : float
        CIEDE2000 by which cloth may change an area's colour.
    cards : CardDrawer or None

    Raises
    ------
    CardError
    """
    drawer = cards or open_cards()
    setup = drawer.setup(garment or drawer.default_garment, thread=thread)
    cloth = setup.garment.rgb
    choices = [
        ColorChoice(
            reading,
            solve_spacing(
                setup.thread, reading.thread.rgb, cloth, needle=setup.needle, tolerance=tolerance
            ),
        )
        for reading in read_threads(setup.thread.colors, cloth)
    ]
    return setup, tuple(choices)
