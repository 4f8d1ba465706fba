"""A quote against sums worked by hand, and the rules a haggling customer relies on.

The card is the demo shop's: 95p a thousand to 10,000 stitches, 85p to 30,000, 75p beyond; 18.00 for
set-up; 3.0 + 2.5 minutes at 16.00 an hour; blanks 6.40 with 35 % on top; breaks 10 % from 12.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from moneyed import Money
from tests.pricing.conftest import make_forecast

from firstpiece.errors import CardError, InputError
from firstpiece.files.material_card import CardDrawer
from firstpiece.model.quote import BlankCount, OrderTerms, PriceCard, QuantityBreak, RateBand
from firstpiece.pricing.compare import compare_quotes, say_change
from firstpiece.pricing.stage import price_job

SIZE = (88.0, 90.0)
SETUP = CardDrawer().setup("apron-natural")
CARD = CardDrawer().prices()


def gbp(text: str) -> Money:
    return Money(text, "GBP")


def test_one_piece_worked_by_hand(setup, card):
    """8,000 stitches: 8 × .95 = 7.60; labour 5.5/60 × 16 = 1.4667; blank 6.40 × 1.35 = 8.64."""
    quote = price_job(make_forecast(8000), setup=setup, card=card, size_mm=SIZE, quantity=1)
    amounts = [line.amount for line in quote.lines]
    assert amounts == [gbp("18.00"), gbp("7.60"), gbp("1.47"), gbp("8.64")]
    assert quote.net == quote.total == quote.each == gbp("35.71")
    assert quote.tax == gbp("0.00")
    assert (quote.width_mm, quote.height_mm) == SIZE


def test_cost_and_margin_worked_by_hand(setup, card):
    """Labour 17.5/60 × 16 = 4.6667; thread 55/5000 × 6.20 = .0682; backing .18; blank 6.40.

    Together 11.3149, times 1.03 = 11.6543; margin (35.71 − 11.65)/35.71 = .6738.
    """
    forecast = make_forecast(8000, minutes=12.0, top_m=40.0, bobbin_m=15.0)
    quote = price_job(forecast, setup=setup, card=card, size_mm=SIZE, quantity=1)
    assert quote.cost == gbp("11.65")
    assert quote.margin == Decimal("0.6738")


def test_large_design_is_charged_band_by_band(setup, card):
    """45,000: 10 × .95 + 20 × .85 + 15 × .75 = 9.50 + 17.00 + 11.25 = 37.75; 12 pieces −10 %."""
    quote = price_job(make_forecast(45_000), setup=setup, card=card, size_mm=SIZE, quantity=12)
    assert quote.lines[1].each == gbp("33.98")  # 33.975, half up
    assert quote.lines[1].amount == gbp("407.76")
    assert quote.net == gbp("18.00") + (gbp("33.98") + gbp("1.47") + gbp("8.64")) * 12
    assert quote.each == gbp("45.59")  # 547.08 / 12 = 45.59 exactly


def test_each_is_rounded_up_so_the_pieces_cover_the_order(setup, card):
    """7 pieces: 18.00 + 7 × 17.71 = 141.97; 141.97 / 7 = 20.2814…, so 20.29."""
    quote = price_job(make_forecast(8000), setup=setup, card=card, size_mm=SIZE, quantity=7)
    assert quote.net == gbp("141.97")
    assert quote.each == gbp("20.29")


def test_tax_is_taken_on_the_net_and_rounded_half_up(setup, card):
    """35.71 × 0.175 = 6.24925, so 6.25."""
    taxed = replace(card, tax=Decimal("0.175"))
    quote = price_job(make_forecast(8000), setup=setup, card=taxed, size_mm=SIZE, quantity=1)
    assert quote.tax == gbp("6.25")
    assert quote.total == gbp("41.96")
    assert quote.margin == Decimal("0.6738")


def test_minimum_holds_for_a_tiny_design_even_after_the_break(setup, card):
    quote = price_job(make_forecast(500), setup=setup, card=card, size_mm=SIZE, quantity=48)
    assert quote.lines[1].each == gbp("4.50")


def test_currency_without_small_coins_keeps_whole_units(setup):
    """ISO 4217 gives the yen no minor unit: every amount is a whole number."""
    yen = PriceCard(
        name="yen", label="yen", currency="JPY",
        rates=(RateBand(None, Money(133, "JPY")),),
        minimum_per_piece=Money(0, "JPY"), setup_per_design=Money(2500, "JPY"),
        hooping_minutes=Decimal(1), finishing_minutes=Decimal(1),
        labour_per_hour=Money(1999, "JPY"), blank_markup=Decimal("0.35"),
        spoilage=Decimal("0.03"), breaks=(), tax=Decimal("0.10"),
    )  # fmt: skip
    quote = price_job(make_forecast(7777), setup=setup, card=yen, size_mm=SIZE, quantity=3)
    # 7.777 × 133 = 1034.341; 2/60 × 1999 = 66.63; 640 × 1.35 = 864
    assert [int(line.each.amount) for line in quote.lines] == [2500, 1034, 67, 864]
    money = (quote.net, quote.tax, quote.each, quote.cost)
    assert all(m.amount == m.amount.to_integral_value() for m in money)


def test_heads_side_by_side_share_the_minding(card, setup):
    four = replace(setup, machine=replace(setup.machine, heads=4))
    one = price_job(make_forecast(), setup=setup, card=card, size_mm=SIZE, quantity=8)
    shared = price_job(make_forecast(), setup=four, card=card, size_mm=SIZE, quantity=8)
    assert shared.cost < one.cost
    assert shared.net == one.net


@pytest.mark.parametrize("quantity", [0, -3, 1_000_001])
def test_absurd_quantity_is_refused_in_one_sentence(setup, card, quantity):
    with pytest.raises(InputError, match="is not a number of pieces; ask for 1 to"):
        price_job(make_forecast(), setup=setup, card=card, size_mm=SIZE, quantity=quantity)


@pytest.mark.parametrize(
    "uppers", [(), (1000,), (None, None), (5000, 1000, None), (1000, 1000, None), (0, None)]
)
def test_bands_that_leave_a_hole_are_refused(setup, card, uppers):
    rates = tuple(RateBand(upper, gbp("1.00")) for upper in uppers)
    with pytest.raises(CardError, match="stitch rates do not rise"):
        price_job(
            make_forecast(), setup=setup, card=replace(card, rates=rates), size_mm=SIZE, quantity=1
        )


pence = st.integers(0, 5000).map(lambda p: Money(Decimal(p) / 100, "GBP"))
shares = st.integers(0, 100).map(lambda p: Decimal(p) / 100)


@st.composite
def cards(draw: st.DrawFn) -> PriceCard:
    uppers = sorted(draw(st.sets(st.integers(1, 60_000), max_size=4)))
    breaks = draw(st.lists(st.tuples(st.integers(1, 200), shares), max_size=4))
    return replace(
        CARD,
        rates=tuple(RateBand(upper, draw(pence)) for upper in [*uppers, None]),
        minimum_per_piece=draw(pence),
        setup_per_design=draw(pence),
        labour_per_hour=draw(pence),
        breaks=tuple(QuantityBreak(n, d) for n, d in breaks),
        tax=draw(shares),
    )


@given(cards(), st.integers(0, 80_000), st.integers(1, 300), st.integers(1, 300))
def test_price_of_one_never_rises_with_quantity(card, n_stitches, some, more):
    forecast = make_forecast(n_stitches)
    few = price_job(forecast, setup=SETUP, card=card, size_mm=SIZE, quantity=some)
    many = price_job(forecast, setup=SETUP, card=card, size_mm=SIZE, quantity=some + more)
    assert many.each <= few.each


@given(cards(), st.integers(0, 80_000), st.integers(1, 20_000), st.integers(1, 100))
def test_price_never_falls_with_stitches(card, n_stitches, extra, quantity):
    small = price_job(
        make_forecast(n_stitches), setup=SETUP, card=card, size_mm=SIZE, quantity=quantity
    )
    large = price_job(
        make_forecast(n_stitches + extra), setup=SETUP, card=card, size_mm=SIZE, quantity=quantity
    )
    assert large.total >= small.total


@given(cards(), st.integers(0, 80_000), st.integers(1, 300))
def test_a_quote_adds_up_by_hand(card, n_stitches, quantity):
    quote = price_job(
        make_forecast(n_stitches), setup=SETUP, card=card, size_mm=SIZE, quantity=quantity
    )
    assert all(line.each * line.count == line.amount for line in quote.lines)
    assert sum((line.amount for line in quote.lines), Money(0, "GBP")) == quote.net
    assert quote.net + quote.tax == quote.total
    assert quote.net <= quote.each * quantity < quote.net + Money("0.01", "GBP") * quantity


def test_rush_is_taken_on_sewing_and_handling_of_each_piece(setup, card):
    """7.60 + 1.47 = 9.07; a quarter of it is 2.2675, so 2.27; 35.71 + 2.27 = 37.98."""
    hurried = replace(card, rush=Decimal("0.25"))
    quote = price_job(
        make_forecast(8000), setup=setup, card=hurried, size_mm=SIZE, quantity=1,
        terms=OrderTerms(is_rush=True),
    )  # fmt: skip
    assert [line.amount for line in quote.lines if line.label == "Rush"] == [gbp("2.27")]
    assert quote.net == gbp("37.98")


def test_free_pieces_are_free_and_show_what_they_cost(setup, card):
    """A piece costs 11.3149 × 1.03 = 11.6543; 12 cost 139.85, 13 cost 151.51, so one is 11.66."""
    forecast = make_forecast(8000)
    plain = price_job(forecast, setup=setup, card=card, size_mm=SIZE, quantity=12)
    given = price_job(
        forecast, setup=setup, card=card, size_mm=SIZE, quantity=12, terms=OrderTerms(1)
    )
    assert (given.net, given.each, given.total) == (plain.net, plain.each, plain.total)
    assert given.free_cost == given.cost - plain.cost == gbp("11.66")
    assert given.margin < plain.margin
    (free,) = [line for line in given.lines if line.amount == gbp("0.00")]
    assert (free.label, free.count) == ("Free of charge", 1)


def test_deposit_is_a_share_of_the_total_rounded_up(setup, card):
    """Half of 35.71 is 17.855, so 17.86; a shop that asks for none says none."""
    half = replace(card, deposit=Decimal("0.5"))
    quote = price_job(make_forecast(8000), setup=setup, card=half, size_mm=SIZE, quantity=1)
    assert quote.deposit == gbp("17.86")
    none = replace(card, deposit=Decimal(0))
    assert price_job(
        make_forecast(), setup=setup, card=none, size_mm=SIZE, quantity=1
    ).deposit is None  # fmt: skip


def test_free_pieces_must_be_a_number_of_pieces(setup, card):
    with pytest.raises(InputError, match="-1 is not a number of pieces"):
        price_job(
            make_forecast(), setup=setup, card=card, size_mm=SIZE, quantity=1, terms=OrderTerms(-1)
        )


@given(cards(), st.integers(0, 300).map(lambda p: Decimal(p) / 100), st.integers(0, 80_000),
       st.integers(1, 300), st.integers(1, 300))  # fmt: skip
def test_price_of_one_never_rises_with_quantity_in_a_hurry(card, rush, n_stitches, some, more):
    hurried, terms = replace(card, rush=rush), OrderTerms(is_rush=True)
    forecast = make_forecast(n_stitches)
    few, many = (
        price_job(forecast, setup=SETUP, card=hurried, size_mm=SIZE, quantity=n, terms=terms)
        for n in (some, some + more)
    )
    assert many.each <= few.each


def test_a_larger_size_is_told_in_a_sentence(setup, card):
    """16,000 against 66,000 stitches is the growth from 5 to 12 in that the trade tells of."""
    five, twelve = (
        price_job(
            make_forecast(n, minutes=m), setup=setup, card=card, size_mm=(h * 25.4, h * 25.4),
            quantity=12,
        )
        for n, m, h in ((16_000, 30.0, 5), (66_000, 115.0, 12))
    )  # fmt: skip
    change = compare_quotes(five, twelve)
    # 9.50 + 5.10 = 14.60 and 9.50 + 17 + 27 = 53.50, both less 10 %: 13.14 and 48.15.
    assert change.each == gbp("35.01")
    assert say_change(change, unit="in") == "At 12 in: +50,000 stitches, +85 min, +£35.01 each"
    back = say_change(compare_quotes(twelve, five))
    assert back == "At 127 mm: −50,000 stitches, −85 min, −£35.01 each"


def test_every_garment_of_an_order_is_paid_for_at_its_own_cost(setup, card):
    """Four of 6.00 and two of 3.00 (guessed costs), 20 % on top: 7.20 and 3.60 each, by hand."""
    card = replace(card, blank_markup=Decimal("0.2"), spoilage=Decimal(0))
    blanks = (BlankCount("apron", 600, 4), BlankCount("shirt", 300, 2))

    def priced(quantity, terms):
        return price_job(make_forecast(), setup=setup, card=card, size_mm=SIZE,
                         quantity=quantity, terms=terms)  # fmt: skip

    quote = priced(6, OrderTerms(blanks=blanks))
    told = {line.label: line.amount for line in quote.lines}
    assert (told["apron"], told["shirt"]) == (Money("28.80", "GBP"), Money("7.20", "GBP"))
    same = priced(6, OrderTerms(blanks=(BlankCount("x", setup.garment.cost_minor, 6),)))
    assert (same.net, same.cost) == (priced(6, None).net, priced(6, None).cost)
    free = priced(5, OrderTerms(free_pieces=1, blanks=blanks))
    assert {line.label: line.count for line in free.lines if line.label == "shirt"} == {"shirt": 1}
    assert free.cost == quote.cost
    with pytest.raises(InputError, match="as many as the pieces"):
        priced(7, OrderTerms(blanks=blanks))
