"""Stock through the shop's own doors: need, shortage, buying, substitutes, thread used up."""

from __future__ import annotations

from datetime import date

import pytest
from tests.shop.shop_floor import FRIDAY, MONDAY, agreed_job, stocked

from firstpiece.errors import CardError, InputError, JobError
from firstpiece.model.buying import Yes
from firstpiece.model.customer import Consent
from firstpiece.model.stock import Cause
from firstpiece.shop import stock_book
from firstpiece.shop.job_book import read_job
from firstpiece.shop.substitutes import answer_substitute, ask_substitute

pytestmark = pytest.mark.usefixtures("fresh_home")


def test_need_shortage_buying_and_arrival(badge):
    aprons, tees = stocked("apron-natural", 12), stocked("tee-white", size="M", pack=6, each="3.10")
    job = agreed_job(badge, ("apron-natural", 3, "", ()), ("tee-white", 4, "M", ()))
    found = stock_book.list_buying(today=MONDAY)
    assert [(s.need.key.name, s.on_shelf, s.missing) for s in found.shares] == [
        ("apron-natural", 3, 0), ("tee-white", 0, 4)]  # fmt: skip
    (short,) = found.shortages
    assert (short.need.job, short.need.needed_by) == (job, date(2031, 9, 3))
    assert short.is_late  # five days on the way, needed in two

    order, _numbers = stock_book.record_purchase("the mill", today=MONDAY)
    assert (order.lines[0].packs, order.lines[0].units, str(order.total.amount)) == (1, 6, "18.60")
    again = stock_book.list_buying(today=MONDAY)
    assert [(s.incoming, s.arrives) for s in again.shares if s.need.key.name == "tee-white"] == [
        (4, date(2031, 9, 6))]  # fmt: skip
    assert not again.orders
    with pytest.raises(InputError, match="nothing to buy from “the mill”"):
        stock_book.record_purchase("the mill", today=MONDAY)

    stock_book.receive_stock(tees, 6)
    done = stock_book.list_buying(today=MONDAY)
    assert all(s.is_met for s in done.shares)
    moves = stock_book.take_for_job(job)
    assert [(m.item, m.change, m.job) for m in moves] == [(aprons, -3, job), (tees, -4, job)]
    assert stock_book.take_for_job(job) == ()  # what was taken is not taken twice


def test_offers_wait_behind_what_is_agreed(badge):
    from firstpiece.model.order import OrderLine
    from firstpiece.shop.job_book import open_job
    from firstpiece.shop.job_order import put_line

    stocked("apron-natural", 4)
    offer = open_job(title="maybe", due=MONDAY)
    put_line(offer.id, OrderLine(0, "apron-natural", 3))
    agreed_job(badge, ("apron-natural", 3, "", ()))
    assert len(stock_book.list_buying(today=MONDAY).shares) == 1
    both = stock_book.list_buying(today=MONDAY, with_offers=True).shares
    assert [(s.need.is_firm, s.on_shelf) for s in both] == [(True, 3), (False, 1)]


def test_a_count_is_corrected_with_a_reason_only():
    item = stocked("apron-natural", 12, place="A1")
    with pytest.raises(InputError, match="12 written down, 11 counted"):
        stock_book.count_stock(item, 11)
    assert stock_book.count_stock(item, 11, because="one had a hole").count == 11
    page = stock_book.read_stock(item)
    assert [(m.cause, m.reason) for m in page.movements] == [
        (Cause.COUNTED, "one had a hole"), (Cause.RECEIVED, "")]  # fmt: skip
    assert stock_book.count_stock(item, 11).count == 11  # as written down: nothing to explain


def test_too_little_for_a_job_takes_nothing_at_all(badge):
    aprons = stocked("apron-natural", 12)
    stocked("tee-white", 1, size="M")
    job = agreed_job(badge, ("apron-natural", 3, "", ()), ("tee-white", 4, "M", ()))
    with pytest.raises(InputError, match="cannot be taken where 0 are written down"):
        stock_book.take_for_job(job)
    assert stock_book.read_stock(aprons).holding.count == 12
    stock_book.take_for_job(job, because="three more lay in the van")
    counts = [h.count for h in stock_book.list_stock()]
    assert counts == [9, -3]


def test_several_places_must_be_named():
    item = stocked("apron-natural", 6, place="A1")
    stock_book.receive_stock(item, 6, place="B2")
    with pytest.raises(InputError, match="name one of them: A1, B2"):
        stock_book.count_stock(item, 5, because="one had a hole")


def test_cards_must_exist():
    with pytest.raises(CardError, match="no card “ball gown”"):
        stocked("ball gown")
    with pytest.raises(JobError, match="no stock item 9"):
        stock_book.receive_stock(9, 1)


def test_a_substitute_is_asked_for_and_then_needed_instead(badge):
    stocked("apron-natural", fibres="cotton")
    job = agreed_job(badge, ("apron-natural", 3, "", ()))
    other = stocked("apron-forest", 5, color="natural", fibres="cotton 60, linen 40", feel="crisp")
    (short,) = stock_book.list_buying(today=MONDAY).shortages
    assert [(s.item.id, s.consent) for s in short.substitutes] == [(other, Yes.NOT_ASKED)]

    asked = ask_substitute(job, 1, other)
    assert asked.consent == Yes.ASKED
    assert "60 % cotton, 40 % linen" in asked.message
    assert "It feels crisp." in asked.message
    assert read_job(job).question == asked.message
    (short,) = stock_book.list_buying(today=MONDAY).shortages
    assert short.substitutes[0].consent == Yes.ASKED

    assert answer_substitute(job, 1, other, yes=True).consent == Yes.GIVEN
    assert read_job(job).question == ""
    found = stock_book.list_buying(today=MONDAY)
    assert not found.shortages
    assert [(s.need.key.name, s.on_shelf) for s in found.shares] == [("apron-forest", 3)]
    assert read_job(job).agreed.lines[0].garment == "apron-natural"  # what was agreed stands


def test_a_refused_substitute_is_not_used_and_one_never_asked_has_no_answer(badge):
    stocked("apron-natural", fibres="cotton")
    other = stocked("apron-forest", 5, color="natural", fibres="cotton")
    job = agreed_job(badge, ("apron-natural", 3, "", ()))
    with pytest.raises(JobError, match="never asked"):
        answer_substitute(job, 1, other, yes=True)
    ask_substitute(job, 1, other)
    answer_substitute(job, 1, other, yes=False)
    (short,) = stock_book.list_buying(today=MONDAY).shortages
    assert short.substitutes[0].consent == Yes.REFUSED
    with pytest.raises(JobError, match="no line 7"):
        ask_substitute(job, 7, other)


def test_a_customer_who_said_yes_once_for_all_is_not_asked(badge):
    stocked("apron-natural", fibres="cotton")
    other = stocked("apron-forest", 5, color="natural", fibres="cotton")
    job = agreed_job(badge, ("apron-natural", 3, "", ()), consent=(Consent.SUBSTITUTES,))
    (short,) = stock_book.list_buying(today=MONDAY).shortages
    assert short.substitutes[0].consent == Yes.ONCE_FOR_ALL
    assert ask_substitute(job, 1, other).message == ""
    assert read_job(job).question == ""


def test_thread_is_needed_by_what_the_forecast_says(badge):
    from firstpiece.shop.job_needs import piece_use

    stocked("apron-natural", 12)
    job = agreed_job(badge, ("apron-natural", 5, "", ()), due=FRIDAY)
    use = piece_use(read_job(job))
    (card, color), metres = max(use.top_m.items(), key=lambda entry: entry[1])
    stocked(card, 1, kind="thread", color=color, metres=100)
    shares = stock_book.list_buying(today=MONDAY).shares
    (thread,) = [s for s in shares if s.need.key.color == color]
    assert 5 * metres <= thread.need.count < 5 * metres + 1
    assert thread.on_shelf == min(100, thread.need.count)
