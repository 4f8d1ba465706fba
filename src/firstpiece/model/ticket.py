"""Tickets: a code for each piece, and whether ticket, garment and loaded design belong together.

A ticket's code names job, line and piece, the plan it is sewn with, and a digest of garment,
colour, size, placement, colouring and name; a bag's code names a blank in stock the same way.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from enum import StrEnum
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.model.check_character import SIGNS, check_character, is_checked

if TYPE_CHECKING:
    from datetime import datetime

    from firstpiece.model.stock import SupplyKey

PLAN_DIGITS = 8
"""Digits of the plan's hash in a code, as on proof and run sheet."""

_DIGEST_SIGNS = 6
_TICKET = re.compile(r"J(\d{1,9})L(\d{1,6})P(\d{1,6})H([0-9A-F]{8})G([0-9A-Z]{6})")
_BAG = re.compile(r"B(\d{1,9})G([0-9A-Z]{6})")
_TICKET_PARTS = re.compile(r"(J\d+)(L\d+)(P\d+)(H.{8})(G.{6}.)")
_BAG_PARTS = re.compile(r"(B\d+)(G.{6}.)")
_BETWEEN = re.compile(r"[\s\-·.]+")


@dataclass(frozen=True, slots=True)
class Ticket:
    """One piece of one job.

    Parameters
    ----------
    job, line, piece : int
        ``piece`` counts from 1 within its line.
    n_pieces : int
        Pieces of the line.
    plan_id : str
        Hash of the plan it is sewn with.
    garment, color, size : str
        The blank: card, colour, size.
    placement : str
        Where the design goes, with its measures.
    colorway : str
        Empty for the design's own threads.
    name : str
        The name it is personalised with; empty for none.
    """

    job: int
    line: int
    piece: int
    n_pieces: int
    plan_id: str
    garment: str
    color: str = ""
    size: str = ""
    placement: str = ""
    colorway: str = ""
    name: str = ""

    @property
    def code(self) -> str:
        """Return letters and digits for a code to be scanned or typed, with a check character."""
        mark = digest(self.garment, self.color, self.size, self.placement, self.colorway, self.name)
        body = f"J{self.job}L{self.line}P{self.piece}H{plan_mark(self.plan_id)}G{mark}"
        return body + check_character(body)

    @property
    def place(self) -> str:
        """Return which piece it is, for a reader."""
        return _("job {job}, line {line}, piece {piece} of {n}").format(
            job=self.job, line=self.line, piece=self.piece, n=self.n_pieces
        )


@dataclass(frozen=True, slots=True)
class TicketCode:
    """What stands in a ticket's code."""

    job: int
    line: int
    piece: int
    plan: str
    digest: str


def plan_mark(plan_id: str) -> str:
    """Return the digits of a plan's hash that stand in codes."""
    return plan_id[:PLAN_DIGITS].upper().ljust(PLAN_DIGITS, "0")


def digest(*texts: str) -> str:
    """Return six letters and digits that differ when a text differs (about 2·10⁹ of them)."""
    number = int.from_bytes(hashlib.sha256("\x1f".join(texts).encode()).digest()[:8], "big")
    signs = ""
    for _place in range(_DIGEST_SIGNS):
        number, rest = divmod(number, len(SIGNS))
        signs += SIGNS[rest]
    return signs


def bag_code(item: int, key: SupplyKey) -> str:
    """Return the code of a bag or box of one blank in stock."""
    body = f"B{item}G{digest(key.name, key.color, key.size)}"
    return body + check_character(body)


def plain_code(text: str) -> str:
    """Return what was scanned or typed without spaces, dashes, dots and small letters."""
    return _BETWEEN.sub("", text).upper()


def spaced_code(code: str) -> str:
    """Return a code with its parts set apart, to be typed from paper; spaces are not typed."""
    for pattern in (_TICKET_PARTS, _BAG_PARTS):
        if match := pattern.fullmatch(code):
            return " ".join(match.groups())
    return code


def read_ticket_code(text: str) -> TicketCode:
    """Return what stands in a ticket's code.

    Raises
    ------
    InputError
        When it is not a ticket's code, or was misread.
    """
    code = plain_code(text)
    match = _TICKET.fullmatch(code[:-1])
    if match is None:
        raise InputError(
            _("“{text}” is not the code of a ticket").format(text=text.strip()[:60]),
            remedy=_("scan the ticket again, or type the line under its code"),
        )
    if not is_checked(code):
        raise InputError(
            _("the ticket's code was misread or mistyped"),
            where=text.strip()[:60],
            remedy=_("scan the ticket again"),
        )
    job, line, piece = (int(match[i]) for i in (1, 2, 3))
    return TicketCode(job, line, piece, match[4], match[5])


def read_bag_code(text: str) -> tuple[int, str] | None:
    """Return the item's number and digest of a bag's code, or None when it is something else."""
    code = plain_code(text)
    match = _BAG.fullmatch(code[:-1])
    if match is None or not is_checked(code):
        return None
    return int(match[1]), match[2]


class Wrong(StrEnum):
    """What does not agree, in a word."""

    TICKET = "ticket"
    GARMENT = "garment"
    DESIGN = "design"
    PIECE = "piece"


@dataclass(frozen=True, slots=True)
class Mismatch:
    """One thing that does not agree; ``headline`` is to be read from across the room."""

    wrong: Wrong
    headline: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Scan:
    """What was scanned or typed before a piece is started, already looked up.

    Parameters
    ----------
    code : TicketCode
    bag : SupplyKey or None
        The blank in hand; None when its code is not known to the shop.
    design : str
        The plan's hash as the machine or the run sheet shows it.
    """

    code: TicketCode
    bag: SupplyKey | None
    design: str


def check_piece(
    scan: Scan, ticket: Ticket | None, *, blanks: tuple[SupplyKey, ...], n_started: int = 0
) -> tuple[Mismatch, ...]:
    """Return everything that does not agree; nothing when the piece may be started.

    Parameters
    ----------
    scan : Scan
    ticket : Ticket or None
        The piece as it was agreed, made anew from the job; None when the job has no such piece.
    blanks : tuple of SupplyKey
        The blank that was agreed, and those the customer consented to in its place.
    n_started : int
        How often this piece was started before and not spoiled.
    """
    if ticket is None:
        return (
            Mismatch(
                Wrong.TICKET,
                _("NO SUCH PIECE"),
                _("job {job} has no line {line} with a piece {piece} that is agreed").format(
                    job=scan.code.job, line=scan.code.line, piece=scan.code.piece
                ),
            ),
        )
    found = (
        _check_ticket(scan.code, ticket),
        _check_design(scan.design, ticket),
        _check_bag(scan.bag, blanks),
        _check_started(ticket, n_started),
    )
    return tuple(fault for fault in found if fault is not None)


def _check_ticket(code: TicketCode, ticket: Ticket) -> Mismatch | None:
    if code.plan != plan_mark(ticket.plan_id):
        return Mismatch(
            Wrong.TICKET,
            _("OLD TICKET"),
            _(
                "the ticket is for plan {code}, but {plan} was agreed; print the tickets anew"
            ).format(code=code.plan.lower(), plan=ticket.plan_id),
        )
    if read_ticket_code(ticket.code).digest != code.digest:
        return Mismatch(
            Wrong.TICKET,
            _("OLD TICKET"),
            _("garment, size, place or name changed since the ticket was printed; print it anew"),
        )
    return None


def _check_design(design: str, ticket: Ticket) -> Mismatch | None:
    """Compare the loaded design with the whole hash as far as both are known."""
    shown = _BETWEEN.sub("", design).lower()
    wanted = ticket.plan_id.lower()
    if len(shown) >= PLAN_DIGITS and shown[: len(wanted)] == wanted[: len(shown)]:
        return None
    return Mismatch(
        Wrong.DESIGN,
        _("WRONG DESIGN"),
        _("the machine has plan {shown} loaded, the ticket wants {wanted}").format(
            shown=shown[:24] or _("nothing"), wanted=wanted
        ),
    )


def _check_bag(bag: SupplyKey | None, blanks: tuple[SupplyKey, ...]) -> Mismatch | None:
    wanted = blanks[0].words if blanks else ""
    if bag is None:
        return Mismatch(
            Wrong.GARMENT,
            _("UNKNOWN GARMENT"),
            _("the garment's code is not in stock; the ticket wants {wanted}").format(
                wanted=wanted
            ),
        )
    if bag in blanks:
        return None
    agreed = blanks[0]
    parts = (
        (bag.size != agreed.size, _("WRONG SIZE")),
        (bag.color != agreed.color, _("WRONG COLOUR")),
        (bag.name != agreed.name, _("WRONG GARMENT")),
    )
    wrong = [headline for differs, headline in parts if differs]
    return Mismatch(
        Wrong.GARMENT,
        wrong[0] if len(wrong) == 1 else _("WRONG GARMENT"),
        _("in hand is {bag}, the ticket wants {wanted}").format(bag=bag.words, wanted=wanted),
    )


def _check_started(ticket: Ticket, n_started: int) -> Mismatch | None:
    if not n_started:
        return None
    return Mismatch(
        Wrong.PIECE,
        _("ALREADY STARTED"),
        _("{place} was started before; record it as spoiled if it is sewn again").format(
            place=ticket.place
        ),
    )


class Spoil(StrEnum):
    """Why a piece was lost."""

    NEEDLE = "needle"
    THREAD = "thread"
    HOOPING = "hooping"
    PLACE = "wrong place"
    DESIGN = "wrong design"
    GARMENT = "wrong garment"
    PUCKER = "pucker"
    HOLE = "hole"
    STAIN = "stain"
    OTHER = "other"


class PieceStep(StrEnum):
    """What happened to a piece."""

    PRINTED = "ticket printed"
    STARTED = "started"
    REFUSED = "refused"
    SEWN = "sewn"
    SPOILED = "spoiled"


@dataclass(frozen=True, slots=True)
class PieceEvent:
    """An entry of the tickets' log, which is only ever added to; ``figures`` are plain values."""

    number: int
    at: datetime
    job: int
    line: int
    piece: int
    step: PieceStep
    plan_id: str
    figures: dict[str, object]


@dataclass(frozen=True, slots=True)
class PieceCount:
    """How the pieces of one line stand: started and not lost, sewn, spoiled (each time counts)."""

    started: dict[int, int]
    sewn: frozenset[int]
    n_spoiled: int


def count_pieces_of(events: tuple[PieceEvent, ...], line: int) -> PieceCount:
    """Return how a line's pieces stand after these events of its job, oldest first."""
    started: dict[int, int] = {}
    sewn: set[int] = set()
    n_spoiled = 0
    for event in events:
        if event.line != line:
            continue
        if event.step == PieceStep.STARTED:
            started[event.piece] = started.get(event.piece, 0) + 1
        elif event.step == PieceStep.SEWN:
            sewn.add(event.piece)
        elif event.step == PieceStep.SPOILED:
            started.pop(event.piece, None)
            sewn.discard(event.piece)
            n_spoiled += 1
    return PieceCount(started, frozenset(sewn), n_spoiled)
