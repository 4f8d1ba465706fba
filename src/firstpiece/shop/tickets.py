"""Tickets of a job: made, checked before a piece is started, sewn, spoiled; all of it logged."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import JobError
from firstpiece.files.code_photo import read_codes
from firstpiece.files.placement_table import read_placements
from firstpiece.model.stock import SupplyKey, SupplyKind
from firstpiece.model.ticket import (
    Mismatch,
    PieceStep,
    Scan,
    Spoil,
    Ticket,
    TicketCode,
    check_piece,
    count_pieces_of,
    digest,
    plain_code,
    read_bag_code,
    read_ticket_code,
)
from firstpiece.shop.book import now, open_book
from firstpiece.shop.cards import open_cards
from firstpiece.shop.colorways import agreed_plan_ids
from firstpiece.shop.job_needs import (
    BOBBIN,
    FIRM,
    blank_key,
    consented_keys,
    piece_use,
)
from firstpiece.shop.stock_book import no_such_line, take_key
from firstpiece.store import purchases, stock, tickets
from firstpiece.store.home import cards_folder
from firstpiece.store.jobs import read_job

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sqlalchemy import Connection

    from firstpiece.model.job import Job
    from firstpiece.model.order import OrderLine
    from firstpiece.model.ticket import PieceEvent


@dataclass(frozen=True, slots=True)
class Checked:
    """Whether a piece may be started; ``ticket`` is None when the job has no such piece."""

    code: TicketCode
    ticket: Ticket | None
    mismatches: tuple[Mismatch, ...]

    @property
    def agrees(self) -> bool:
        """True when ticket, garment and design belong together."""
        return not self.mismatches

    @property
    def headline(self) -> str:
        """What is to be read from across the room."""
        return _("SEW") if self.agrees else self.mismatches[0].headline


@dataclass(frozen=True, slots=True)
class Recorded:
    """A piece that was sewn or spoiled, and how its line stands now."""

    ticket: Ticket
    n_sewn: int
    n_spoiled: int


def list_tickets(number: int, *, line: int = 0) -> tuple[Ticket, ...]:
    """Return a ticket for every piece of a job that is agreed, or of one of its lines.

    Raises
    ------
    JobError
        When the job is not agreed, or has no such line.
    """
    with open_book().read() as connection:
        job = read_job(connection, number)
    return _tickets_of(_agreed(job), agreed_plan_ids(job), line)


def log_printed(made: tuple[Ticket, ...], *, line: int = 0) -> None:
    """Log that tickets of a job, or of one of its lines, were printed."""
    with open_book().write() as connection:
        _log(connection, made[0], PieceStep.PRINTED, {"n": len(made), "line": line})


def check_ticket(ticket: str, *, bag: str, design: str) -> Checked:
    """Return whether ticket, garment and loaded design agree, and log it either way.

    When they do the piece counts as started; it passes once, until it is recorded as spoiled.

    Parameters
    ----------
    ticket : str
        The ticket's code, scanned or typed.
    bag : str
        The bag's code, the supplier's barcode, or the blank in words ("apron-natural, natural, M").
    design : str
        The plan's hash, as the machine or the run sheet shows it.

    Raises
    ------
    InputError
        When the ticket's code cannot be read.
    """
    code = read_ticket_code(ticket)
    plans = _plan_ids(code)
    with open_book().write() as connection:
        job = read_job(connection, code.job)
        made = _find(job, code, plans)
        events = tickets.read_piece_events(connection, code.job)
        started = count_pieces_of(events, code.line).started.get(code.piece, 0)
        blanks = _blanks(connection, job, code.line) if made else ()
        scan = Scan(code, _find_bag(connection, bag, blanks), design)
        found = check_piece(scan, made, blanks=blanks, n_started=started)
        step = PieceStep.REFUSED if found else PieceStep.STARTED
        figures = {"wrong": [str(f.wrong) for f in found], "bag": bag[:120], "design": design[:80]}
        _log_code(connection, code, step, made.plan_id if made else code.plan.lower(), figures)
    return Checked(code, made, found)


def read_photo(data: bytes, *, name: str) -> tuple[str, str]:
    """Return the ticket's and the bag's code of a photograph; empty texts for what is not on it.

    Raises
    ------
    PictureError
        When no code can be read.
    """
    texts = read_codes(data, name=name)
    bag = next((text for text in texts if read_bag_code(text)), "")
    ticket = next((text for text in texts if plain_code(text).startswith("J")), "")
    return ticket, bag


def record_sewn(ticket: str) -> Recorded:
    """Record that a piece is sewn, and use up its thread and bobbin thread.

    Raises
    ------
    InputError, JobError
        When the code cannot be read, or the piece was never started or is sewn already.
    """
    plans = _plan_ids(read_ticket_code(ticket))
    with open_book().write() as connection:
        job, made, events = _started(connection, ticket, plans)
        if made.piece in count_pieces_of(events, made.line).sewn:
            raise JobError(_("this piece is sewn already"), where=made.place)
        _log(connection, made, PieceStep.SEWN, {})
        _use_thread(connection, job, made)
        return _recorded(connection, made)


def record_spoiled(ticket: str, cause: Spoil, *, note: str = "") -> Recorded:
    """Record that a piece was lost and why; it is needed once more, and its thread is used up.

    Raises
    ------
    InputError, JobError
        See ``record_sewn``.
    """
    plans = _plan_ids(read_ticket_code(ticket))
    with open_book().write() as connection:
        job, made, events = _started(connection, ticket, plans)
        sewn = made.piece in count_pieces_of(events, made.line).sewn
        _log(connection, made, PieceStep.SPOILED, {"cause": str(cause), "note": note[:300]})
        if not sewn:
            _use_thread(connection, job, made)
        return _recorded(connection, made)


def _agreed(job: Job) -> Job:
    if job.agreed is None or job.state not in FIRM:
        raise JobError(
            _("the job is {state}, and tickets are for what is agreed").format(state=job.state),
            where=_("job {number}").format(number=job.id),
            remedy=_("record the customer's yes first"),
        )
    return job


def _plan_ids(code: TicketCode) -> Mapping[str, str]:
    """Return the plan hash of each colourway of a ticket's job.

    Before the transaction begins: a colourway's hash takes its stitches, and they take their time.
    """
    with open_book().read() as connection:
        job = read_job(connection, code.job)
    return agreed_plan_ids(job)


def _tickets_of(job: Job, plans: Mapping[str, str], number: int = 0) -> tuple[Ticket, ...]:
    assert job.agreed is not None
    lines = [line for line in job.agreed.lines if number in (0, line.number)]
    if not lines:
        raise no_such_line(job, number)
    made = []
    for line in lines:
        # All pieces of a line lie in the same place on the same blank: cards are opened once.
        first = _first_ticket(job, line, plans)
        made += [_of_piece(first, line, piece) for piece in range(1, line.count + 1)]
    return tuple(made)


def _first_ticket(job: Job, line: OrderLine, plans: Mapping[str, str]) -> Ticket:
    assert job.agreed is not None
    key = blank_key(line, open_cards())
    return Ticket(
        job=job.id,
        line=line.number,
        piece=1,
        n_pieces=line.count,
        plan_id=plans.get(line.colorway, job.agreed.plan_id),
        garment=key.name,
        color=key.color,
        size=key.size,
        placement=placement_words(line),
        colorway=line.colorway,
    )


def _of_piece(first: Ticket, line: OrderLine, piece: int) -> Ticket:
    name = line.names[piece - 1] if piece <= len(line.names) else ""
    return replace(first, piece=piece, name=name)


def placement_words(line: OrderLine) -> str:
    """Return where a line's design goes, with millimetres when the place is in the table."""
    garment = open_cards().garment(line.garment)
    found = read_placements(cards_folder()).find(garment.kind, line.placement)
    if found is not None:
        return found.words(line.size)
    return line.placement or garment.placement


def _find(job: Job, code: TicketCode, plans: Mapping[str, str]) -> Ticket | None:
    if job.agreed is None or job.state not in FIRM:
        return None
    line = next((one for one in job.agreed.lines if one.number == code.line), None)
    if line is None or not 1 <= code.piece <= line.count:
        return None
    return _of_piece(_first_ticket(job, line, plans), line, code.piece)


def _blanks(connection: Connection, job: Job, number: int) -> tuple[SupplyKey, ...]:
    """Return the blank a line asks for, then what the customer consented to in its place."""
    assert job.agreed is not None
    line = next(one for one in job.agreed.lines if one.number == number)
    said = purchases.read_substitutes(connection, job.id)
    return (blank_key(line, open_cards()), *consented_keys(said, job.id, number))


def _find_bag(connection: Connection, text: str, agreed: tuple[SupplyKey, ...]) -> SupplyKey | None:
    """Return the blank of a bag's code, a supplier's barcode, or the blank's own words."""
    plain = text.strip()
    held = {h.item.id: h.item.key for h in stock.list_holdings(connection, SupplyKind.BLANK)}
    if (read := read_bag_code(plain)) is not None:
        number, mark = read
        key = held.get(number)
        return key if key and digest(key.name, key.color, key.size) == mark else None
    if (item := stock.find_barcode(connection, plain)) is not None:
        return item.key
    meant = _said_blanks(plain)
    known = {*held.values(), *agreed}
    return next((key for key in meant if key in known), meant[0] if meant else None)


def _said_blanks(text: str) -> tuple[SupplyKey, ...]:
    """Return what "card, size", "card, colour" or "card, colour, size" can mean."""
    cards = open_cards()
    name, *rest = (part.strip() for part in text.split(","))
    if name not in cards.names("garments") or len(rest) > 2:
        return ()
    own = cards.garment(name).color_name
    if len(rest) == 2:
        pairs = [(rest[0], rest[1])]
    else:
        pairs = [(own, rest[0]), (rest[0], "")] if rest else [(own, "")]
    return tuple(SupplyKey(SupplyKind.BLANK, name, color, size) for color, size in pairs)


def _started(
    connection: Connection, text: str, plans: Mapping[str, str]
) -> tuple[Job, Ticket, tuple[PieceEvent, ...]]:
    code = read_ticket_code(text)
    job = _agreed(read_job(connection, code.job))
    made = _find(job, code, plans)
    events = tickets.read_piece_events(connection, code.job)
    started = count_pieces_of(events, code.line).started.get(code.piece, 0)
    if made is None or not started:
        raise JobError(
            _("this piece was never started"),
            where=_("job {job}, line {line}, piece {piece}").format(
                job=code.job, line=code.line, piece=code.piece
            ),
            remedy=_("check its ticket first"),
        )
    return job, made, events


def _use_thread(connection: Connection, job: Job, made: Ticket) -> None:
    """Take a piece's thread off the cones; a cone sewn past its end is told in the log."""
    use = piece_use(job, made.colorway)
    if use is None:
        return
    why = _("used by {place}").format(place=made.place)
    keys = [
        (SupplyKey(SupplyKind.THREAD, card, color), metres)
        for (card, color), metres in use.top_m.items()
    ]
    keys.append((SupplyKey(SupplyKind.BOBBIN, BOBBIN), use.bobbin_m))
    for key, metres in keys:
        take_key(connection, key, math.ceil(metres), job=job.id, why=why)


def _log(
    connection: Connection, made: Ticket, step: PieceStep, figures: Mapping[str, object]
) -> None:
    _log_code(connection, read_ticket_code(made.code), step, made.plan_id, figures)


def _log_code(
    connection: Connection,
    code: TicketCode,
    step: PieceStep,
    plan_id: str,
    figures: Mapping[str, object],
) -> None:
    piece = (code.job, code.line, code.piece)
    tickets.add_piece_event(connection, piece, step, plan_id=plan_id, figures=figures, at=now())


def _recorded(connection: Connection, made: Ticket) -> Recorded:
    events = tickets.read_piece_events(connection, made.job)
    counted = count_pieces_of(events, made.line)
    return Recorded(made, len(counted.sewn), counted.n_spoiled)
