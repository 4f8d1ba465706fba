"""Need against stock, worked by hand, and what must hold for any shelf and any queue of jobs."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from math import ceil, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from moneyed import Money

from firstpiece.errors import InputError
from firstpiece.model.buying import DailyUse, Incoming, Need, StockRules, Yes
from firstpiece.model.stock import (
    Cause,
    Cloth,
    Feel,
    Holding,
    Lot,
    Movement,
    StockItem,
    Supplier,
    SupplyKey,
    SupplyKind,
    fold_movements,
    move_stock,
    read_fibres,
)
from firstpiece.stocking.stage import Shelf, list_supplies
from firstpiece.stocking.substitutes import fibre_distance

MONDAY = date(2031, 4, 7)
MILL = Supplier("the mill", lead_days=5, order_cost=Money(6, "GBP"))


def blank(name="tee-white", *, color="white", size="M", pack=1, cloth=None, supplier="the mill"):
    key = SupplyKey(SupplyKind.BLANK, name, color, size)
    return StockItem(1, key, supplier=supplier, pack=pack, each=Money("3.10", "GBP"), cloth=cloth)


def cone(color="leaf green", *, pack=1):
    key = SupplyKey(SupplyKind.THREAD, "poly-40", color)
    return StockItem(2, key, supplier="the mill", pack=pack, each=Money("6.20", "GBP"),
                     metres_each=5000)  # fmt: skip


def need(job, item, count, *, days=10, firm=True):
    by = None if days is None else MONDAY + timedelta(days=days)
    return Need(job, 1, f"job {job}", item.key, count, by, is_firm=firm)


def test_the_earliest_job_gets_the_shelf_and_the_later_one_is_short():
    """10 shirts: job 2, due first, takes 8; job 1 gets 2 of its 6; 4 are bought in packs of 3."""
    tee = blank(pack=3)
    shelf = Shelf((Holding(tee, (Lot("A1", 7), Lot("B2", 3))),), suppliers=(MILL,))
    found = list_supplies([need(1, tee, 6, days=9), need(2, tee, 8, days=6)], shelf, today=MONDAY)
    assert [(s.need.job, s.on_shelf, s.missing) for s in found.shares] == [(2, 8, 0), (1, 2, 4)]
    (short,) = found.shortages
    assert (short.need.job, short.missing, short.arrives) == (1, 4, date(2031, 4, 12))
    assert not short.is_late
    (order,) = found.orders
    assert (order.lines[0].packs, order.lines[0].count) == (2, 6)
    assert order.total == Money("18.60", "GBP")
    assert order.order_by == date(2031, 4, 11)  # needed on the 16th, five days on the way


def test_what_comes_too_late_is_said():
    tee = blank()
    shelf = Shelf((Holding(tee),), suppliers=(MILL,))
    (short,) = list_supplies([need(1, tee, 1, days=3)], shelf, today=MONDAY).shortages
    assert short.is_late
    assert short.arrives == MONDAY + timedelta(days=5)


def test_parcels_on_their_way_are_not_bought_again():
    tee = blank()
    parcel = Incoming(tee.key, 5, MONDAY + timedelta(days=2))
    shelf = Shelf((Holding(tee),), (parcel,), (MILL,))
    found = list_supplies([need(1, tee, 3), need(2, tee, 3)], shelf, today=MONDAY)
    assert [(s.incoming, s.missing) for s in found.shares] == [(3, 0), (2, 1)]
    assert found.orders[0].lines[0].for_jobs == 1


def test_what_is_only_offered_waits_behind_what_is_agreed():
    tee = blank()
    shelf = Shelf((Holding(tee, (Lot("A1", 2),)),), suppliers=(MILL,))
    offered, agreed = need(1, tee, 2, days=1, firm=False), need(2, tee, 2, days=20)
    found = list_supplies([offered, agreed], shelf, today=MONDAY)
    assert [(s.need.job, s.on_shelf) for s in found.shares] == [(2, 2), (1, 0)]


def test_thread_is_needed_by_the_metre_and_bought_by_the_cone():
    """6,000 m needed, 1,200 m left on two cones: 4,800 m missing, one cone of 5,000 m."""
    green = cone()
    shelf = Shelf((Holding(green, (Lot("cone 1", 900), Lot("cone 2", 300))),), suppliers=(MILL,))
    found = list_supplies([need(1, green, 6000)], shelf, today=MONDAY)
    line = found.orders[0].lines[0]
    assert (line.for_jobs, line.units, line.count) == (4800, 1, 5000)


def test_a_thing_on_no_list_is_named():
    shelf = Shelf((), suppliers=(MILL,))
    found = list_supplies([need(1, blank(), 2)], shelf, today=MONDAY)
    assert found.unknown == (blank().key,)
    assert found.shortages[0].arrives is None
    assert found.shortages[0].is_late


def test_substitutes_are_ranked_by_fibre_then_weight_then_feel():
    cotton = (("cotton", 100),)
    wanted = blank(cloth=Cloth("tee", cotton, 180, Feel.SOFT))
    others = {
        "blend": Cloth("tee", (("cotton", 60), ("polyester", 40)), 180, Feel.SOFT),
        "heavy": Cloth("tee", cotton, 220, Feel.SOFT),
        "near-crisp": Cloth("tee", cotton, 185, Feel.CRISP),
        "near-soft": Cloth("tee", cotton, 185, Feel.SOFT),
        "apron": Cloth("apron", cotton, 180, Feel.SOFT),
    }
    held = [Holding(wanted)]
    held += [Holding(blank(n, cloth=c), (Lot("A1", 9),)) for n, c in others.items()]
    held.append(Holding(blank("black", color="black", cloth=others["heavy"]), (Lot("A1", 9),)))
    held.append(Holding(blank("large", size="L", cloth=others["heavy"]), (Lot("A1", 9),)))
    held.append(Holding(blank("all gone", cloth=others["heavy"])))
    asked = {(1, 1, held[2].item.key): Yes.REFUSED}
    shelf = Shelf(tuple(held), suppliers=(MILL,))
    found = list_supplies([need(1, wanted, 4)], shelf, today=MONDAY, consents=asked)
    ranked = found.shortages[0].substitutes
    assert [s.item.key.name for s in ranked] == ["near-soft", "near-crisp", "heavy", "blend"]
    assert [s.consent for s in ranked] == [
        Yes.NOT_ASKED, Yes.NOT_ASKED, Yes.REFUSED, Yes.NOT_ASKED
    ]  # fmt: skip
    assert ranked[3].fibre_distance == 0.4


def test_fibre_distance_is_a_share():
    def cloth(text):
        return Cloth("tee", read_fibres(text))

    assert fibre_distance(cloth("cotton"), cloth("Cotton 100 %")) == 0.0
    assert fibre_distance(cloth("cotton"), cloth("linen")) == 1.0
    assert fibre_distance(cloth("cotton 50, linen 50"), cloth("cotton")) == 0.5
    with pytest.raises(InputError, match="not a list of fibres"):
        read_fibres("cotton sixty, linen")
    with pytest.raises(InputError, match="do not add up"):
        cloth("cotton 60, linen 30")


def test_what_runs_low_is_bought_by_the_economic_lot():
    """2 a day ± 1.5, 5 days on the way, 95 %: 10 + 1.64485 × 1.5 × √5 = 15.52, so at 16.

    The lot: √(2 × 730 × 6.00 / (3.10 × 0.25)) = 106.3, so 107.
    """
    tee = blank()
    use = (DailyUse(tee.key, 2.0, 1.5),)
    assert ceil(10 + 1.64485 * 1.5 * sqrt(5)) == 16
    for on_shelf, n_low in ((17, 0), (16, 1)):
        shelf = Shelf((Holding(tee, (Lot("A1", on_shelf),)),), (), (MILL,), use)
        found = list_supplies([], shelf, today=MONDAY, rules=StockRules(0.95, 0.25))
        assert len(found.low) == n_low
    assert (found.low[0].reorder_at, found.low[0].buy) == (16, 107)
    assert found.orders[0].lines[0].for_stock == 107


items = st.sampled_from([blank(), blank(size="L", pack=6), blank("mat", pack=4), cone(pack=2)])
needs = st.builds(
    lambda job, item, count, days, firm: need(job, item, count, days=days, firm=firm),
    st.integers(1, 9), items, st.integers(1, 9000), st.none() | st.integers(-3, 30), st.booleans(),
)  # fmt: skip


@given(st.lists(needs, max_size=12), st.lists(st.tuples(items, st.integers(-5, 9000)), max_size=8))
def test_nothing_is_given_twice_and_everything_missing_is_bought(wanted, lots):
    held = {item.key: Holding(item) for item in (blank(), blank(size="L", pack=6),
                                                 blank("mat", pack=4), cone(pack=2))}  # fmt: skip
    for item, count in lots:
        old = held[item.key]
        held[item.key] = Holding(old.item, (*old.lots, Lot(f"A{len(old.lots)}", count)))
    found = list_supplies(wanted, Shelf(tuple(held.values()), (), (MILL,)), today=MONDAY)
    assert Counter(s.need for s in found.shares) == Counter(wanted)
    bought = Counter({line.item.key: line.count for o in found.orders for line in o.lines})
    for key, holding in held.items():
        asked = sum(n.count for n in wanted if n.key == key)
        given_out = sum(s.on_shelf for s in found.shares if s.need.key == key)
        assert given_out <= max(0, holding.count)
        assert given_out + bought[key] >= asked
        pack = holding.item.pack * holding.item.unit_size
        assert bought[key] % pack == 0
        assert given_out + bought[key] - asked < max(1, pack)  # no pack too many
    for s in found.shares:
        assert s.on_shelf + s.incoming + s.missing == s.need.count


@given(
    st.lists(
        st.tuples(st.sampled_from(list(Cause)), st.integers(-20, 20), st.sampled_from(["", "why"])),
        max_size=30,
    )
)
def test_stock_is_never_negative_or_corrected_without_a_reason(changes):
    count, log = 0, []
    for cause, change, reason in changes:
        try:
            after = move_stock(count, change, cause=cause, reason=reason)
        except InputError:
            assert not reason
            continue
        log.append(Movement(len(log) + 1, None, 1, "A1", change, after, cause, reason))
        count = after
        # The lot went, or stayed, below zero only where somebody said why.
        if after < 0 and change < 0:
            assert reason
        if cause == Cause.COUNTED and change:
            assert reason
    assert fold_movements(log) == ({(1, "A1"): count} if log else {})


def test_a_damaged_log_is_seen():
    moves = [Movement(1, None, 1, "A1", 5, 5, Cause.RECEIVED),
             Movement(2, None, 1, "A1", -2, 4, Cause.TAKEN)]  # fmt: skip
    with pytest.raises(ValueError, match="movement 2 leaves 4 where 3 must be"):
        fold_movements(moves)
