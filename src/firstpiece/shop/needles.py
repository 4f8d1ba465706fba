"""What is on the machines' needles: kept as it is changed, so that a day begins with what is there.

Input: a cone put on or taken off. Output: each machine's needles from 1, with cone and needle
size; the day's plan starts from them.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.model.day import Cone
from firstpiece.shop.book import now, open_book
from firstpiece.shop.cards import open_cards
from firstpiece.store import needles as rows

if TYPE_CHECKING:
    from collections.abc import Mapping

    from firstpiece.files.material_card import CardDrawer
    from firstpiece.model.material import Machine

NEEDLE_SIZES = (60, 65, 70, 75, 80, 90, 100, 110)
"""Metric sizes (Nm) as sold (common practice, no source)."""

POINTS = ("sharp", "ball")
USUAL_NEEDLE = 75


@dataclass(frozen=True, slots=True)
class MachineNeedles:
    """A machine and what is on its needles 1, 2, …; None where there is nothing."""

    machine: Machine
    cones: tuple[Cone | None, ...]


@dataclass(frozen=True, slots=True)
class ConeChoice:
    """A cone as a person names it.

    Parameters
    ----------
    color : str
        Of the thread card's rack.
    thread : str
        Card; empty takes the first rack that has the colour.
    metric_size : int
        Of the needle, Nm; 0 keeps the one that is in, else takes 75.
    point : str
        ``sharp`` or ``ball``; empty keeps the one that is in, else takes sharp.
    """

    color: str
    thread: str = ""
    metric_size: int = 0
    point: str = ""


def list_needles(machine: str = "") -> tuple[MachineNeedles, ...]:
    """Return what is on the needles of one machine, or of every one.

    Raises
    ------
    CardError
        When there is no such machine card.
    """
    cards = open_cards()
    names = (machine,) if machine else cards.names("machines")
    with open_book().read() as connection:
        loaded = rows.read_needles(connection)
    return tuple(
        MachineNeedles(cards.machine(name), loaded_cones(cards, name, loaded)) for name in names
    )


def loaded_cones(
    cards: CardDrawer, machine: str, loaded: Mapping[str, Mapping[int, Cone]]
) -> tuple[Cone | None, ...]:
    """Return what is on a machine's needles; cones beyond its last needle are not there."""
    there = loaded.get(machine, {})
    return tuple(there.get(n) for n in range(1, cards.machine(machine).needles + 1))


def put_cone(machine: str, needle: int, choice: ConeChoice | None) -> MachineNeedles:
    """Keep that a cone was put on a needle, or with None that it was taken off.

    Raises
    ------
    CardError, InputError
        When there is no such machine, needle, rack or colour.
    """
    cards = open_cards()
    (before,) = list_needles(machine)
    if not 1 <= needle <= len(before.cones):
        raise InputError(
            _("there is no needle {n}").format(n=needle),
            where=before.machine.label,
            remedy=_("its needles are 1 to {last}").format(last=len(before.cones)),
        )
    cone = _cone(cards, choice, before.cones[needle - 1]) if choice else None
    with open_book().write() as connection:
        rows.put_needles(connection, before.machine.name, {needle: cone}, at=now())
    return list_needles(machine)[0]


def _cone(cards: CardDrawer, choice: ConeChoice, before: Cone | None) -> Cone:
    size = choice.metric_size or (before.metric_size if before else USUAL_NEEDLE)
    point = choice.point or (before.point if before else POINTS[0])
    if size not in NEEDLE_SIZES or point not in POINTS:
        raise InputError(
            _("{size} {point} is not a needle").format(size=size, point=point[:20]),
            remedy=_("sizes are {sizes}, points {points}").format(
                sizes=", ".join(map(str, NEEDLE_SIZES)), points=", ".join(POINTS)
            ),
        )
    names = (choice.thread,) if choice.thread else cards.names("threads")
    wanted = choice.color.strip().casefold()
    for name in names:
        for color in cards.thread(name).colors:
            if color.name.casefold() == wanted:
                return Cone(name, color.name, size, point)
    raise InputError(
        _("no rack has the colour “{color}”").format(color=choice.color[:40]),
        remedy=_("name a colour of a thread card"),
    )
