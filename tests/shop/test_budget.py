"""What size fits a budget: the answer was planned, fits, and what is next above it does not."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from moneyed import Money
from tests.shop.shop_floor import agreed_job

from firstpiece.errors import InputError
from firstpiece.model.quote import OrderTerms
from firstpiece.shop.budget import MOST_PLANS, fit_budget, fit_object, search_largest
from firstpiece.shop.job_book import read_job
from firstpiece.shop.job_order import agree_job, offer_price
from firstpiece.shop.prepare import PrepareRequest


@given(st.integers(20, 100), st.integers(1, 200), st.integers(0, 320))
def test_the_search_closes_in_on_the_largest_that_fits(least, span, limit):
    asked = []

    def fits(height):
        asked.append(height)
        return height <= limit

    search_largest(fits, least, least + span)
    assert len(asked) <= MOST_PLANS
    assert len(set(asked)) == len(asked)  # no height is planned twice
    fitting = [h for h in asked if h <= limit]
    if not least <= limit < least + span:
        return
    # Seven halvings of the span are left between the best and the next one that does not fit.
    gap = min(h for h in asked if h > limit) - max(fitting)
    assert gap <= max(1.0, span / 2 ** (MOST_PLANS - 2) + 1.0)


def test_a_badge_for_a_budget(badge, fresh_home):
    request = PrepareRequest(data=badge, name="badge.png", height_mm=60.0, quantity=12)
    found = fit_budget(request, budget=Money("20.00", "GBP"), least_mm=40.0, most_mm=160.0)
    assert found.best is not None
    assert found.best.quote.each <= Money("20.00", "GBP")
    above = [t for t in found.tried if t.height_mm > found.best.height_mm]
    assert above
    assert all(t.quote.each > Money("20.00", "GBP") or t.blocked for t in above)
    assert found.sentence.startswith("£20.00 each, 12 ordered: up to ")
    assert fit_object(found)["height_mm"] == found.best.height_mm


def test_a_budget_that_nothing_fits_says_so(badge, fresh_home):
    request = PrepareRequest(data=badge, name="badge.png", height_mm=60.0)
    found = fit_budget(request, budget=Money("1.00", "GBP"), least_mm=40.0, most_mm=160.0)
    assert found.best is None
    assert found.sentence == "No height from 40 mm up fits £1.00 each, 1 ordered."
    with pytest.raises(InputError, match="budget is in EUR, the price card in GBP"):
        fit_budget(request, budget=Money("1.00", "EUR"))
    with pytest.raises(InputError, match="least height must be below"):
        fit_budget(request, budget=Money("1.00", "GBP"), least_mm=90.0, most_mm=40.0)


def test_an_offer_on_terms(badge, fresh_home):
    job = agreed_job(badge, ("apron-natural", 6, "", ()))
    from firstpiece.model.order import OrderLine
    from firstpiece.shop.job_order import put_line

    put_line(job, OrderLine(1, "apron-natural", 12))
    plain = offer_price(job).offer
    free = offer_price(job, terms=OrderTerms(free_pieces=2)).offer
    rush = offer_price(job, terms=OrderTerms(is_rush=True)).offer
    assert plain.quantity == free.quantity == 12
    assert free.net < plain.net < rush.net
    assert (plain.valid_until - plain.at.date()).days == 30  # as the price card says
    with pytest.raises(InputError, match="12 of 12 pieces cannot be free"):
        offer_price(job, terms=OrderTerms(free_pieces=12))
    agree_job(job, said_by="Ida")
    assert read_job(job).agreed.price == rush.total
