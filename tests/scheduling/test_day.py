"""A day plan against every plan there is (small queues), and what must hold for any queue."""

from __future__ import annotations

import math
from datetime import date
from itertools import permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpiece.errors import InputError
from firstpiece.model.day import Cone, Head, SewingJob, WorkWeek
from firstpiece.scheduling.late_bound import bound_late
from firstpiece.scheduling.stage import plan_day

CONES = [Cone("poly-40", name, size, "ball") for name in "abcde" for size in (65, 75)]

jobs = st.builds(
    SewingJob,
    job=st.integers(1, 50),
    title=st.just("aprons"),
    pieces=st.integers(1, 4),
    minutes_each=st.integers(1, 30).map(float),
    due_min=st.integers(20, 200).map(float) | st.just(math.inf),
    cones=st.lists(st.sampled_from(CONES), max_size=3, unique=True).map(tuple),
    set_up_min=st.integers(0, 10).map(float),
    hooping_min=st.integers(0, 3).map(float),
    ready_min=st.sampled_from([0.0, 0.0, 0.0, 40.0, 90.0]),
)
heads = st.builds(
    Head,
    name=st.just("head"),
    label=st.just("Head"),
    needles=st.integers(3, 6),
    abreast=st.integers(1, 2),
    speed=st.sampled_from([1.0, 0.8]),
)


def fewest_late_of_all(queue, machines):
    """Slow twin: every sharing of the jobs and every order on each head, changes free."""
    best = len(queue)
    for where in product(range(len(machines)), repeat=len(queue)):
        late = 0
        for h, head in enumerate(machines):
            mine = [job for job, at in zip(queue, where, strict=True) if at == h]
            late += min(count_late(order, head) for order in permutations(mine))
        best = min(best, late)
    return best


def count_late(order, head):
    clock, late = 0.0, 0
    for job in order:
        clock = max(clock, job.ready_min) + job.minutes_on(head)
        late += clock > job.due_min
    return late


@settings(deadline=None, max_examples=60)
@given(st.lists(jobs, max_size=4), st.lists(heads, min_size=1, max_size=2))
def test_no_plan_has_fewer_late_jobs_than_the_bound(queue, machines):
    plan = plan_day(queue, machines, change_min=0.0)
    best = fewest_late_of_all(queue, machines)
    assert bound_late(queue, machines) <= best <= len(plan.late)
    assert plan.late_bound <= best


@settings(deadline=None, max_examples=60)
@given(st.lists(jobs, max_size=6), st.integers(3, 6))
def test_one_head_with_everything_ready_is_planned_as_well_as_can_be(queue, needles):
    ready = [SewingJob(j.job, j.title, j.pieces, j.minutes_each, j.due_min) for j in queue]
    head = Head("head", "Head", needles)
    assert len(plan_day(ready, [head], change_min=0.0).late) == fewest_late_of_all(ready, [head])


@settings(deadline=None, max_examples=80)
@given(st.lists(jobs, max_size=9), st.lists(heads, min_size=1, max_size=3), st.randoms())
def test_what_holds_for_any_queue(queue, machines, chance):
    plan = plan_day(queue, machines)
    planned = [slot.job for head in plan.heads for slot in head.slots]
    assert sorted(map(repr, planned)) == sorted(map(repr, queue))  # each once, none forgotten
    for head in plan.heads:
        clock = 0.0
        on = dict.fromkeys(range(1, head.head.needles + 1))
        for change in head.first_loading:
            on[change.needle] = change.on
        for slot in head.slots:
            assert slot.begin_min >= max(clock, slot.job.ready_min)
            for change in slot.changes:
                assert on[change.needle] == change.off
                on[change.needle] = change.on
            assert tuple(on.values()) == slot.needles
            assert set(slot.job.cones) <= set(slot.needles)
            assert slot.late_min == max(0.0, slot.end_min - slot.job.due_min)
            clock = slot.end_min
    assert plan.changes_bound <= plan.n_changes
    shuffled = list(queue)
    chance.shuffle(shuffled)
    assert plan_day(shuffled, machines) == plan  # nothing hangs on the order of asking


def test_a_job_that_lacks_blanks_waits_until_they_come():
    head = Head("head", "Head", 12)
    lacking = SewingJob(7, "mats", 4, 20.0, due_min=480, ready_min=math.inf,
                        missing=("4 mat-canvas, L",))  # fmt: skip
    plan = plan_day([lacking], [head])
    assert [w.reason for w in plan.waiting] == ["missing: 4 mat-canvas, L"]
    assert not plan.heads[0].slots
    arrived = SewingJob(7, "mats", 4, 20.0, due_min=480)
    again = plan_day([arrived], [head])
    assert [slot.job.job for slot in again.heads[0].slots] == [7]
    assert not again.waiting


def test_a_head_does_not_stand_still_while_something_is_ready():
    head = Head("head", "Head", 12)
    soon = SewingJob(1, "due first, comes later", 1, 20.0, due_min=200, ready_min=100.0)
    later = SewingJob(2, "due later, here", 1, 20.0, due_min=400)
    slots = plan_day([soon, later], [head]).heads[0].slots
    assert [slot.job.job for slot in slots] == [2, 1]
    assert slots[0].begin_min == 0.0


def test_heads_abreast_share_the_rounds():
    """7 pieces on 4 heads abreast are 2 rounds: 10 + 2 × (12 + 3) = 40 minutes; on one, 115."""
    job = SewingJob(1, "shirts", 7, 12.0)
    assert job.minutes_on(Head("four", "Four", 12, abreast=4)) == 40.0
    assert job.minutes_on(Head("one", "One", 12)) == 115.0


def test_a_cone_on_its_needle_stays_there():
    red, blue, thin = (Cone("poly-40", "red", 75, "ball"), Cone("poly-40", "blue", 75, "ball"),
                       Cone("poly-60", "ink", 65, "ball"))  # fmt: skip
    head = Head("head", "Head", 2, loaded=(blue, red))
    one = SewingJob(1, "red", 1, 5.0, due_min=100, cones=(red,))
    two = SewingJob(2, "thin and red", 1, 5.0, due_min=200, cones=(thin, red))
    plan = plan_day([one, two], [head])
    assert plan.heads[0].first_loading == ()
    (change,) = plan.heads[0].slots[1].changes
    assert (change.needle, change.off, change.on) == (1, blue, thin)


def test_a_new_cone_goes_where_the_needle_has_its_size():
    thin, thick = Cone("poly-60", "ink", 65, "ball"), Cone("poly-40", "red", 80, "sharp")
    fine, coarse = Cone("poly-60", "sky", 65, "ball"), Cone("poly-40", "sky", 80, "sharp")
    head = Head("head", "Head", 2, loaded=(thick, thin))
    plan = plan_day([SewingJob(1, "both", 1, 5.0, cones=(fine, coarse))], [head])
    changes = {c.on: c.needle for c in plan.heads[0].slots[0].changes}
    assert changes == {fine: 2, coarse: 1}


def test_too_many_colours_are_told():
    cones = tuple(Cone("poly-40", f"c{i}", 75, "ball") for i in range(5))
    plan = plan_day([SewingJob(1, "rainbow", 1, 5.0, cones=cones)], [Head("h", "H", 4)])
    assert plan.waiting[0].reason == "it needs 5 cones and no machine has more than 4 needles"
    with pytest.raises(InputError, match="no machine"):
        plan_day([], [])


def test_working_minutes_on_the_clock():
    """2031-04-04 is a Friday (ISO 8601 week date 2031-W14-5)."""
    week, friday = WorkWeek(), date(2031, 4, 4)
    assert week.minutes_until(friday, friday) == 480
    assert week.minutes_until(friday, date(2031, 4, 6)) == 480  # the weekend adds nothing
    assert week.minutes_until(friday, date(2031, 4, 7)) == 960
    assert week.minutes_until(friday, date(2031, 4, 3)) == 0
    assert week.moment(friday, 0).isoformat() == "2031-04-04T09:00:00"
    assert week.moment(friday, 480).isoformat() == "2031-04-04T17:00:00"
    assert week.moment(friday, 481).isoformat() == "2031-04-07T09:01:00"
    assert week.moment(date(2031, 4, 5), 0).isoformat() == "2031-04-07T09:00:00"


@given(st.dates(date(2030, 1, 1), date(2032, 1, 1)), st.integers(0, 40))
def test_minutes_until_counts_each_working_day(start, n_days):
    week = WorkWeek(weekdays=(0, 2, 5))
    days = [date.fromordinal(start.toordinal() + i) for i in range(n_days + 1)]
    worked = sum(day.weekday() in (0, 2, 5) for day in days)
    assert week.minutes_until(start, days[-1]) == worked * 480
