"""When a job is sewn: what to do to each piece, what goes into the parcel, what to tell."""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from gettext import ngettext
from typing import TYPE_CHECKING

from firstpiece.model.ticket import count_pieces_of
from firstpiece.shop.book import open_book
from firstpiece.shop.cards import open_cards
from firstpiece.shop.job_needs import design_of
from firstpiece.store import tickets
from firstpiece.store.customers import read_customer
from firstpiece.store.jobs import read_job

if TYPE_CHECKING:
    from firstpiece.files.material_card import CardDrawer
    from firstpiece.model.job import Job
    from firstpiece.model.material import Setup
    from firstpiece.model.order import OrderLine

SKIN_SIDE = "skin-side"


@dataclass(frozen=True, slots=True)
class PackLine:
    """One row of the pack list: what, how many were agreed, how many are sewn, names in order."""

    line: int
    words: str
    agreed: int
    sewn: int
    spoiled: int
    names: tuple[str, ...]

    @property
    def is_complete(self) -> bool:
        """True when every piece is sewn."""
        return self.sewn >= self.agreed


@dataclass(frozen=True, slots=True)
class Finishing:
    """What is left to do for a job: ``checklist`` for the shop, ``care`` and ``message`` to go.

    ``message`` is empty while pieces are missing.
    """

    job: int
    checklist: tuple[str, ...]
    pack_list: tuple[PackLine, ...]
    care: str
    message: str


def finish_job(number: int) -> Finishing:
    """Return the checklist, pack list, care note and message of a job.

    Raises
    ------
    JobError
        When there is no such job.
    """
    with open_book().read() as connection:
        job = read_job(connection, number)
        events = tickets.read_piece_events(connection, number)
        customer = read_customer(connection, job.customer).name if job.customer else ""
    cards = open_cards()
    lines = job.agreed.lines if job.agreed else job.lines
    packed = []
    for line in lines:
        counted = count_pieces_of(events, line.number)
        packed.append(
            PackLine(line.number, _blank_words(line, cards), line.count, len(counted.sewn),
                     counted.n_spoiled, line.names)
        )  # fmt: skip
    setups = [cards.setup(name) for name in dict.fromkeys(line.garment for line in lines)]
    said = {point.code: str(point.value) for point in job.settled}
    return Finishing(
        job=number,
        checklist=_checklist(setups, sum(line.count for line in lines), said=said),
        pack_list=tuple(packed),
        care=_care(setups, _fibre(job), said=said),
        message=_message(job, customer, sum(line.count for line in lines))
        if all(line.is_complete for line in packed)
        else "",
    )


def _blank_words(line: OrderLine, cards: CardDrawer) -> str:
    """Return a line's garment as a person who packs reads it."""
    parts = (cards.garment(line.garment).label, line.color, line.size, line.colorway)
    return ", ".join(part for part in parts if part)


def _checklist(setups: list[Setup], n_pieces: int, *, said: dict[str, str]) -> tuple[str, ...]:
    """Return what to do to each piece, in order."""
    told = [
        _("Trim every loose thread, front and back."),
        *_remove_backings(setups),
    ]
    if any(setup.fabric.needs_topping for setup in setups):
        told.append(_("Pull the film off and dab the rest away with water."))
    if _wants_cover(setups, said):
        told.append(_("Press a soft cover over the back of the work: it touches the skin."))
    told += [
        _("Take hoop marks out with steam or a damp cloth."),
        _("Press from the back, face down on a towel; never iron the thread itself."),
        _("Look for broken needle pieces before a garment leaves: count them."),
        ngettext("Count: {n} piece.", "Count: {n} pieces.", n_pieces).format(n=n_pieces),
        _("Fold, and pack by size with the pack list on top."),
    ]
    return tuple(told)


def _wants_cover(setups: list[Setup], said: dict[str, str]) -> bool:
    """Return whether the back is covered softly: at the skin, unless the customer said no."""
    touches_skin = any(SKIN_SIDE in setup.garment.cautions for setup in setups)
    return touches_skin and said.get("cover") != "no"


def _delivery(said: dict[str, str]) -> str:
    """Return how the pieces reach the customer, or the question when nobody said."""
    told = {
        "fetched": _("They wait here to be fetched."),
        "customer": _("We send them; you pay the postage, as agreed."),
        "shop": _("We send them; the postage is in our price."),
    }
    return told.get(
        said.get("postage", ""),
        _("Please say how you would like to have them: fetched, or sent?"),
    )


def _remove_backings(setups: list[Setup]) -> list[str]:
    """Return how backing comes off; garments are named where they differ."""
    ways: dict[str, list[str]] = {}
    for setup in setups:
        ways.setdefault(_remove_backing(setup), []).append(setup.garment.label)
    if len(ways) == 1:
        return list(ways)
    return [f"{', '.join(labels)}: {way}" for way, labels in ways.items()]


def _remove_backing(setup: Setup) -> str:
    if setup.backing.removal == "tear away":
        return _("Tear the backing away along the stitches, holding the work with the other hand.")
    return _("Cut the backing back to about 6 mm around the work, corners rounded.")


def _care(setups: list[Setup], fibre: str, *, said: dict[str, str]) -> str:
    """Return the care note that goes with the pieces; the garment's own label comes first."""
    lines = [
        _("The garment's own label comes first."),
        _("Turn inside out; wash cool with colours alike; no bleach."),
        _("Do not tumble hot: backing and cloth may shrink unlike."),
        _("Iron from the inside, over a cloth; the {fibre} thread does not like a hot iron.")
        .format(fibre=fibre),
        _("Do not pull a loose thread: trim it."),
    ]  # fmt: skip
    if _wants_cover(setups, said):
        lines.append(_("The soft cover on the back stays on; it keeps the work off the skin."))
    return "\n".join(lines)


def _fibre(job: Job) -> str:
    revision = design_of(job)
    return open_cards().thread(revision.thread).fibre if revision else _("embroidery")


def _message(job: Job, customer: str, n_pieces: int) -> str:
    greeting = _("Hello {name},").format(name=customer) if customer else _("Hello,")
    counted = ngettext("{n} piece", "{n} pieces", n_pieces).format(n=n_pieces)
    return "\n".join(
        (
            greeting,
            _("“{title}” is finished: {counted}, checked and packed.").format(
                title=job.title, counted=counted
            ),
            _delivery({point.code: str(point.value) for point in job.settled}),
            _("A note on washing lies in the parcel. Tell us how they wear!"),
        )
    )
