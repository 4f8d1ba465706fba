"""Ticket codes and the check before a piece is started, for any ticket."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from firstpiece.errors import InputError
from firstpiece.model.stock import SupplyKey, SupplyKind
from firstpiece.model.ticket import (
    PieceEvent,
    PieceStep,
    Scan,
    Ticket,
    Wrong,
    bag_code,
    check_piece,
    count_pieces_of,
    read_bag_code,
    read_ticket_code,
    spaced_code,
)

plans = st.text(alphabet="0123456789abcdef", min_size=8, max_size=8)
words = st.sampled_from(["", "natural", "forest", "M", "L"])
tickets = st.builds(
    Ticket,
    job=st.integers(1, 10**9 - 1),
    line=st.integers(1, 10**6 - 1),
    piece=st.integers(1, 10**6 - 1),
    n_pieces=st.just(10**6),
    plan_id=plans,
    garment=st.sampled_from(["apron-natural", "tee-white"]),
    color=words,
    size=words,
    placement=words,
    name=st.text(max_size=12),
)


def blank(ticket):
    return SupplyKey(SupplyKind.BLANK, ticket.garment, ticket.color, ticket.size)


def check(code, ticket, *, design=None, bag=None, n_started=0):
    scan = Scan(read_ticket_code(code), bag or blank(ticket), design or ticket.plan_id)
    return check_piece(scan, ticket, blanks=(blank(ticket),), n_started=n_started)


@given(tickets)
def test_a_code_comes_back_as_it_went_however_it_is_typed(ticket):
    for typed in (ticket.code, ticket.code.lower(), spaced_code(ticket.code),
                  f" {spaced_code(ticket.code).replace(' ', '-')} "):  # fmt: skip
        read = read_ticket_code(typed)
        assert (read.job, read.line, read.piece) == (ticket.job, ticket.line, ticket.piece)
        assert read.plan == ticket.plan_id.upper()


@given(tickets)
def test_what_agrees_passes(ticket):
    assert check(ticket.code, ticket) == ()


@given(tickets, plans)
def test_a_ticket_of_another_plan_never_passes(ticket, other):
    assume(other != ticket.plan_id)
    older = replace(ticket, plan_id=other)
    assert check(older.code, ticket)  # whatever the machine has loaded
    assert check(older.code, ticket, design=other)
    assert [m.wrong for m in check(ticket.code, ticket, design=other)] == [Wrong.DESIGN]


@given(tickets, tickets)
def test_a_ticket_of_another_garment_place_or_name_never_passes(ticket, other):
    changed = replace(ticket, garment=other.garment, color=other.color, size=other.size,
                      placement=other.placement, name=other.name)  # fmt: skip
    assume(changed != ticket)
    assert [m.wrong for m in check(changed.code, ticket)] == [Wrong.TICKET]


@given(tickets, words, words)
def test_another_blank_never_passes(ticket, color, size):
    bag = SupplyKey(SupplyKind.BLANK, ticket.garment, color, size)
    assume(bag != blank(ticket))
    (fault,) = check(ticket.code, ticket, bag=bag)
    assert fault.wrong == Wrong.GARMENT
    if color == ticket.color:
        assert fault.headline == "WRONG SIZE"
    if size == ticket.size:
        assert fault.headline == "WRONG COLOUR"


@given(tickets, st.data())
def test_a_misread_sign_is_never_taken_for_another_ticket(ticket, data):
    code = ticket.code
    at = data.draw(st.integers(0, len(code) - 1))
    sign = data.draw(st.sampled_from("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
    assume(sign != code[at])
    with pytest.raises(InputError, match=r"not the code of a ticket|misread or mistyped"):
        read_ticket_code(code[:at] + sign + code[at + 1 :])


def test_a_bag_code_is_no_ticket_and_a_ticket_no_bag():
    key = SupplyKey(SupplyKind.BLANK, "tee-white", "white", "M")
    code = bag_code(27, key)
    assert read_bag_code(spaced_code(code).lower())[0] == 27
    with pytest.raises(InputError, match="not the code of a ticket"):
        read_ticket_code(code)
    ticket = Ticket(1, 1, 1, 1, "3f9a1c2d", "tee-white")
    assert read_bag_code(ticket.code) is None
    assert read_bag_code("") is None


def event(number, piece, step, line=1):
    return PieceEvent(number, None, 1, line, piece, step, "3f9a1c2d", {})


def test_pieces_are_counted_from_their_log():
    log = [(1, PieceStep.PRINTED), (1, PieceStep.STARTED), (1, PieceStep.REFUSED),
           (1, PieceStep.SPOILED), (1, PieceStep.STARTED), (1, PieceStep.SEWN),
           (2, PieceStep.STARTED), (3, PieceStep.STARTED), (3, PieceStep.SEWN),
           (3, PieceStep.SPOILED)]  # fmt: skip
    events = tuple(event(i, piece, step) for i, (piece, step) in enumerate(log))
    counted = count_pieces_of((*events, event(99, 4, PieceStep.SEWN, line=2)), 1)
    assert counted.sewn == {1}
    assert counted.started == {1: 1, 2: 1}
    assert counted.n_spoiled == 2
