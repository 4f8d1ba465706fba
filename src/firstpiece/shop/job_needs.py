"""What open jobs need from the shelf: blanks by line, backing by the piece, thread by the metre.

A spoiled piece needs everything once more; a substitute the customer consented to is needed in
place of the blank it stands in for. Of anything but blanks only what is on the list of stock is
reckoned with: a shop that counts no backing is not held up by it.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from firstpiece.errors import FirstpieceError
from firstpiece.model.buying import Need
from firstpiece.model.job import JobState
from firstpiece.model.stock import SupplyKey, SupplyKind
from firstpiece.model.ticket import count_pieces_of
from firstpiece.shop.job_design import prepare_revision

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from firstpiece.files.material_card import CardDrawer
    from firstpiece.model.design import Revision
    from firstpiece.model.job import Job
    from firstpiece.model.order import OrderLine
    from firstpiece.model.ticket import PieceEvent
    from firstpiece.store.purchases import Agreed

FIRM = (JobState.AGREED, JobState.SUPPLIED, JobState.SEWING)
OFFERED = (JobState.ASKED, JobState.DRAFTED, JobState.QUOTED)

DAYS_BEFORE_DUE = 2
"""Things must be here so many days before a job is due, to be sewn and finished (guess)."""

FILM, BOBBIN = "film", "bobbin"
"""Names under which topping and bobbin thread are kept in stock."""


@dataclass(frozen=True, slots=True)
class PieceUse:
    """Metres that one piece takes: of thread by (card, colour), and of bobbin thread."""

    top_m: Mapping[tuple[str, str], float]
    bobbin_m: float


@dataclass(frozen=True, slots=True)
class ShelfWords:
    """What of the store the needs hang on, read at one moment.

    Parameters
    ----------
    keys : frozenset of SupplyKey
        Everything on the list of stock.
    taken : mapping of (int, SupplyKey) to int
        By job.
    events : sequence of PieceEvent
    substitutes : sequence of Agreed
    """

    keys: frozenset[SupplyKey]
    taken: Mapping[tuple[int, SupplyKey], int]
    events: Sequence[PieceEvent]
    substitutes: Sequence[Agreed]


def list_needs(jobs: Iterable[Job], words: ShelfWords, cards: CardDrawer) -> tuple[Need, ...]:
    """Return the needs of jobs, those of one job summed up by line and thing."""
    needs: list[Need] = []
    for job in jobs:
        events = tuple(e for e in words.events if e.job == job.id)
        needs += _share_taken(_job_needs(job, events, words, cards), words)
    return tuple(needs)


def blank_key(line: OrderLine, cards: CardDrawer) -> SupplyKey:
    """Return the blank a line asks for; without a colour of its own it has the card's."""
    color = line.color or cards.garment(line.garment).color_name
    return SupplyKey(SupplyKind.BLANK, line.garment, color, line.size)


def consented_keys(substitutes: Iterable[Agreed], job: int, line: int) -> tuple[SupplyKey, ...]:
    """Return the substitutes that the customer said yes to for a line, the newest first."""
    said = [s for s in substitutes if (s.job, s.line) == (job, line) and s.answer.is_yes]
    return tuple(s.key for s in reversed(said))


def piece_use(job: Job, colorway: str = "") -> PieceUse | None:
    """Return what one piece of a job's design takes, or None when the design cannot be remade."""
    revision = design_of(job)
    if revision is None:
        return None
    try:
        prepared = prepare_revision(job, number=revision.number)
    except FirstpieceError:
        # A picture that was erased, or a card that is gone: the job can still be counted.
        return None
    names = threads_of(job, colorway)
    top: dict[tuple[str, str], float] = defaultdict(float)
    for use in prepared.forecast.thread_use:
        if use.thread_index < len(names):
            top[revision.thread, names[use.thread_index]] += use.top_m.band.p50
    return PieceUse(dict(top), prepared.forecast.bobbin_m.band.p50)


def design_of(job: Job) -> Revision | None:
    """Return the revision that was agreed, or the newest before anything was."""
    if job.agreed is not None:
        return next(r for r in job.revisions if r.number == job.agreed.revision)
    return job.revision


def threads_of(job: Job, colorway: str = "") -> tuple[str, ...]:
    """Return the names of a job's threads in one of its colourings."""
    revision = design_of(job)
    ways = job.agreed.colorways if job.agreed is not None else job.colorways
    found = next((way.threads for way in ways if way.name == colorway), None)
    return found or (revision.threads if revision else ())


def _job_needs(
    job: Job, events: tuple[PieceEvent, ...], words: ShelfWords, cards: CardDrawer
) -> list[Need]:
    by = job.due - timedelta(days=DAYS_BEFORE_DUE) if job.due else None
    firm = job.state in FIRM
    needs = []
    for line in job.lines:
        counted = count_pieces_of(events, line.number)
        pieces = line.count + counted.n_spoiled
        keys = _line_keys(job, line, pieces, words, cards)
        needs += [
            Need(job.id, line.number, job.title, key, count, by, is_firm=firm)
            for key, count in keys
            if count and (key in words.keys or key.kind == SupplyKind.BLANK)
        ]
    return needs


def _line_keys(
    job: Job, line: OrderLine, pieces: int, words: ShelfWords, cards: CardDrawer
) -> list[tuple[SupplyKey, int]]:
    garment = cards.garment(line.garment)
    instead = consented_keys(words.substitutes, job.id, line.number)
    keys = [(instead[0] if instead else blank_key(line, cards), pieces)]
    keys.append((SupplyKey(SupplyKind.BACKING, garment.backing), pieces))
    if cards.fabric(garment.fabric).needs_topping:
        keys.append((SupplyKey(SupplyKind.TOPPING, FILM), pieces))
    if any(key.kind.is_metred for key in words.keys):
        use = piece_use(job, line.colorway)
        if use is not None:
            keys += [
                (SupplyKey(SupplyKind.THREAD, card, color), math.ceil(metres * pieces))
                for (card, color), metres in use.top_m.items()
            ]
            keys.append((SupplyKey(SupplyKind.BOBBIN, BOBBIN), math.ceil(use.bobbin_m * pieces)))
    return keys


def _share_taken(needs: list[Need], words: ShelfWords) -> list[Need]:
    """Return needs with what was taken for the job told line by line, the first line first."""
    left = {key: n for (job, key), n in words.taken.items() if needs and job == needs[0].job}
    told = []
    for need in needs:
        taken = max(0, min(need.count, left.get(need.key, 0)))
        left[need.key] = left.get(need.key, 0) - taken
        told.append(
            Need(need.job, need.line, need.title, need.key, need.count, need.needed_by,
                 is_firm=need.is_firm, taken=taken)
        )  # fmt: skip
    return told
