"""Sew-outs in either database: found by garment, newest first, and their photos kept and erased."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from tests.model.test_job import DESIGN
from tests.store.job_writing import NOON, act, get_job, put_customer, put_job, put_picture

from firstpiece.errors import InputError, JobError
from firstpiece.model import job_rules as rules
from firstpiece.model.sewout import SewOut, SewOutPhoto
from firstpiece.store.erasure import erase_customer
from firstpiece.store.jobs import find_jobs
from firstpiece.store.replay import replay_faults
from firstpiece.store.sewouts import list_sewouts

SEWN = SewOut(
    revision=1, plan_id=DESIGN.plan_id, garment="apron-natural", thread="poly-40",
    cards="c" * 64, minutes=14.25, rating=3, seen="gap at the stalk", change="pull 0.1 mm more",
)  # fmt: skip


def put_sewout(store, number, sewout=SEWN, *, after_min=0):
    at = NOON + timedelta(minutes=after_min)
    return act(store, number, lambda job: rules.record_sewout(job, sewout), at=at)


def put_designed(store, title="aprons", **fields):
    job = put_job(store, title, **fields)
    return act(store, job.id, lambda j: rules.revise(j, DESIGN))


def listed(store, garment="apron-natural", *, limit=10):
    with store.read() as connection:
        return list_sewouts(connection, garment, limit=limit)


def test_what_was_told_comes_back_whole(store):
    job = put_designed(store)
    after = put_sewout(store, job.id)
    assert after.sewouts == (replace(SEWN, at=NOON),)
    assert get_job(store, job.id) == after
    assert after.state == job.state
    with store.read() as connection:
        assert replay_faults(connection) == ()
        assert [j.id for j in find_jobs(connection, "stalk", limit=5)] == [job.id]


def test_a_garment_tells_its_newest_sewout_first_over_all_jobs(store):
    one, other = put_designed(store, "first"), put_designed(store, "second")
    put_sewout(store, one.id, replace(SEWN, rating=1), after_min=10)
    put_sewout(store, other.id, replace(SEWN, rating=2), after_min=30)
    put_sewout(store, one.id, replace(SEWN, rating=4), after_min=20)
    put_sewout(store, one.id, replace(SEWN, garment="tee-black"), after_min=40)
    found = listed(store)
    assert [(f.job, f.title, f.sewout.rating) for f in found] == [
        (other.id, "second", 2), (one.id, "first", 4), (one.id, "first", 1)]  # fmt: skip
    assert listed(store, limit=1) == found[:1]
    assert listed(store, "cap-navy") == ()


def test_a_plan_the_job_never_had_is_refused(store):
    job = put_designed(store)
    for wrong in (replace(SEWN, plan_id="99999999"), replace(SEWN, revision=2)):
        with pytest.raises(JobError, match="no plan"):
            put_sewout(store, job.id, wrong)
    with pytest.raises(JobError, match="nothing is told"):
        put_sewout(store, job.id, replace(SEWN, seen=" ", change=""))
    assert get_job(store, job.id) == job


@pytest.mark.parametrize("rating", [0, 6, -1])
def test_a_rating_outside_the_scale_is_refused(rating):
    with pytest.raises(InputError, match="rating"):
        replace(SEWN, rating=rating)


@pytest.mark.parametrize("minutes", [0.0, -3.0, float("nan"), float("inf"), 1e9])
def test_minutes_that_no_piece_takes_are_refused(minutes):
    with pytest.raises(InputError, match="time at the machine"):
        replace(SEWN, minutes=minutes)


def test_erased_the_words_and_photos_go_and_the_figures_stay(store):
    customer = put_customer(store, "Windfall Row")
    job = put_designed(store, customer=customer.id)
    photo = SewOutPhoto(store.pictures.put(b"her apron"), 9)
    put_picture(store, job.id, b"her logo")
    # The same photo again, as when it is told of twice, is kept once.
    for rating in (2, 4):
        put_sewout(store, job.id, replace(SEWN, photos=(photo,), rating=rating))
    done = erase_customer(store, customer.id, at=NOON)
    assert photo.hash in done.pictures
    assert len(done.pictures) == 2
    assert not store.pictures.has(photo.hash)
    left = get_job(store, job.id).sewouts
    assert [s.rating for s in left] == [2, 4]
    assert {(s.seen, s.change, s.minutes, s.plan_id) for s in left} == {
        ("", "", 14.25, DESIGN.plan_id)}  # fmt: skip
    assert [f.title for f in listed(store)] == ["", ""]
    with store.read() as connection:
        assert replay_faults(connection) == ()
        assert find_jobs(connection, "stalk", limit=5) == ()
