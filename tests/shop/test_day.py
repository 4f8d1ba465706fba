"""The shop's day from its own store: what is agreed, on its machines, as stock allows."""

from __future__ import annotations

from datetime import date

import pytest
from tests.shop.shop_floor import FRIDAY, MONDAY, agreed_job, stocked

from firstpiece.errors import CardError, InputError, JobError
from firstpiece.shop import stock_book, tickets
from firstpiece.shop.day import load_for_job, plan_shop_day, write_day
from firstpiece.shop.needles import ConeChoice, list_needles, put_cone

pytestmark = pytest.mark.usefixtures("fresh_home")

MACHINES = """
[second]
label = "Second head"
needles = 6
heads = 1
top_speed = { value = 850, low = 750, high = 950, unit = "1/min", source = "guess" }
speed_constant = { value = 2000, low = 1600, high = 2400, unit = "mm^0.5/min", source = "guess" }
trim = { value = 6.0, low = 4.0, high = 9.0, unit = "s", source = "guess" }
color_change = { value = 9.0, low = 6.0, high = 14.0, unit = "s", source = "guess" }
start = { value = 1.5, low = 1.0, high = 3.0, unit = "s", source = "guess" }
longest_stitch_mm = 12.0
longest_jump_mm = 12.0
step_mm = 0.1
"""


def slots(day):
    return [(head.head.name, slot.job.job) for head in day.plan.heads for slot in head.slots]


def test_the_plan_is_another_when_a_blank_arrives(badge):
    tees = stocked("tee-white", size="M", pack=4)
    job = agreed_job(badge, ("tee-white", 4, "M", ()))
    waiting = plan_shop_day(MONDAY)
    assert slots(waiting) == []
    assert waiting.plan.waiting[0].reason == "missing: 4 tee-white, white, M, not bought yet"

    stock_book.record_purchase("the mill", today=date(2031, 8, 29))  # comes on Wednesday
    coming = plan_shop_day(MONDAY)
    ((slot,),) = [head.slots for head in coming.plan.heads]
    assert slot.job.missing == ("4 tee-white, white, M, comes 2031-09-03",)
    begins = coming.week.moment(MONDAY, slot.begin_min + 1e-6)
    assert begins.isoformat(timespec="minutes") == "2031-09-03T09:00"

    stock_book.receive_stock(tees, 4)
    here = plan_shop_day(MONDAY)
    assert slots(here) == [("one-head", job)]
    assert here.week.moment(MONDAY, here.plan.heads[0].slots[0].end_min).date() == MONDAY


def test_sewn_pieces_are_not_planned_again(badge):
    stocked("apron-natural", 9)
    job = agreed_job(badge, ("apron-natural", 3, "", ()))
    first = plan_shop_day(MONDAY).plan.heads[0].slots[0].job
    one = tickets.list_tickets(job)[0]
    tickets.check_ticket(one.code, bag="apron-natural", design=one.plan_id)
    tickets.record_sewn(one.code)
    second = plan_shop_day(MONDAY).plan.heads[0].slots[0].job
    assert (first.pieces, second.pieces) == (3, 2)
    assert [cone.thread for cone in second.cones] == ["poly-40"] * len(second.cones)


def test_every_machine_card_is_a_machine_and_late_jobs_are_named(badge, fresh_home):
    (fresh_home / "cards").mkdir(parents=True)
    (fresh_home / "cards" / "machines.toml").write_text(MACHINES)
    stocked("apron-natural", 500)
    small = agreed_job(badge, ("apron-natural", 2, "", ()), due=FRIDAY)
    large = agreed_job(badge, ("apron-natural", 400, "", ()), due=MONDAY, title="Too many")
    day = plan_shop_day(MONDAY)
    assert sorted(job for _head, job in slots(day)) == [small, large]
    assert len({head for head, _job in slots(day)}) == 2
    assert [slot.job.job for slot in day.plan.late] == [large]
    assert day.plan.late_bound == 1


def test_the_hours_are_the_shops_own(badge, fresh_home):
    fresh_home.mkdir(parents=True)
    (fresh_home / "settings.toml").write_text(
        '[hours]\ndays = ["sat", "sun"]\nbegins = "10:00"\nends = "14:00"\n'
    )
    stocked("apron-natural", 9)
    agreed_job(badge, ("apron-natural", 1, "", ()))
    day = plan_shop_day(MONDAY)
    slot = day.plan.heads[0].slots[0]
    assert f"{day.week.moment(MONDAY, slot.begin_min):%a %H}" == "Sat 10"
    (fresh_home / "settings.toml").write_text('[hours]\ndays = ["someday"]\n')
    with pytest.raises(InputError, match="hours cannot be read"):
        plan_shop_day(MONDAY)


def test_the_picture_of_the_day_is_written(badge, tmp_path):
    stocked("apron-natural", 9)
    agreed_job(badge, ("apron-natural", 1, "", ()))
    pdf, png = write_day(plan_shop_day(MONDAY), tmp_path)
    assert pdf.read_bytes().startswith(b"%PDF-")
    assert png.read_bytes().startswith(b"\x89PNG")
    again = write_day(plan_shop_day(MONDAY), tmp_path / "again")
    assert again[0].read_bytes() == pdf.read_bytes()


def test_the_day_begins_with_what_is_on_the_needles(badge):
    stocked("apron-natural", 9)
    job = agreed_job(badge, ("apron-natural", 3, "", ()))
    (head,) = plan_shop_day(MONDAY).plan.heads
    wanted = {change.on.color for change in head.first_loading}
    assert len(head.first_loading) == 2

    kept = load_for_job(plan_shop_day(MONDAY), job)
    assert {cone.color for cone in kept.cones if cone} == wanted
    (head,) = plan_shop_day(MONDAY).plan.heads
    assert (head.first_loading, head.n_changes) == ((), 0)

    taken = next(n for n, cone in enumerate(kept.cones, start=1) if cone)
    gone = kept.cones[taken - 1]
    put_cone("one-head", taken, None)
    (head,) = plan_shop_day(MONDAY).plan.heads
    told = [*head.first_loading, *(c for slot in head.slots for c in slot.changes)]
    assert [(c.off, c.on) for c in told] == [(None, gone)]

    thin = put_cone("one-head", taken, ConeChoice(gone.color.upper(), metric_size=65))
    assert thin.cones[taken - 1].needle_words == "65/9 sharp"
    (head,) = plan_shop_day(MONDAY).plan.heads
    told = [*head.first_loading, *(c for slot in head.slots for c in slot.changes)]
    assert [c.on for c in told] == [gone]  # the colour is there, but on the wrong needle


def test_what_cannot_be_on_a_needle_is_refused(badge):
    for needle, choice, words in (
        (13, ConeChoice("poppy"), "no needle 13"),
        (1, ConeChoice("no such colour"), "no rack has the colour"),
        (1, ConeChoice("poppy", metric_size=77), "77 sharp is not a needle"),
    ):
        with pytest.raises(InputError, match=words):
            put_cone("one-head", needle, choice)
    with pytest.raises(CardError):
        list_needles("no such machine")
    with pytest.raises(JobError, match="not in this plan"):
        load_for_job(plan_shop_day(MONDAY), 7)
    assert list_needles("one-head")[0].cones == (None,) * 12
