"""The ladder: every height planned anew, by any runner, with the same answer."""

from __future__ import annotations

import pytest

from firstpiece.errors import CancelledError, InputError, LengthError, PictureError
from firstpiece.files.result_json import quote_object
from firstpiece.model.frozen import content_hash
from firstpiece.running.cluster import ClusterRunner
from firstpiece.running.inline import InlineRunner
from firstpiece.running.pool import PoolRunner
from firstpiece.shop.job_objects import ladder_object
from firstpiece.shop.ladder import CLUSTER_VARIABLE, choose_runner, price_ladder
from firstpiece.shop.prepare import prepare_picture

HEIGHTS, QUANTITIES = (25.0, 40.0), (1, 12)


def ladder_of(badge, **how):
    return price_ladder(badge, name="badge", heights_mm=HEIGHTS, quantities=QUANTITIES, **how)


def test_every_height_is_planned_anew(fresh_home, badge, calls):
    ladder = ladder_of(badge)
    assert calls["plan_stitches"] == calls["trace_artwork"] == 2
    small, large = ladder.rungs
    # A rule that scales by area would give this; planning anew does not.
    scaled = small.n_stitches * (40.0 / 25.0) ** 2
    assert small.n_stitches < large.n_stitches
    assert abs(large.n_stitches - scaled) > 0.02 * scaled
    assert [len(r.quotes) for r in ladder.rungs] == [2, 2]


def test_a_rung_is_the_job_of_that_height(fresh_home, badge):
    rung = ladder_of(badge).rungs[1]
    job = prepare_picture(badge, name="badge", height_mm=40.0, quantity=12)
    assert rung.n_stitches == job.plan.n_stitches
    assert rung.minutes == job.forecast.sewing_minutes
    assert quote_object(rung.quotes[1]) == quote_object(job.quote)
    assert rung.findings == job.findings


def test_heights_rise_and_equal_ones_are_planned_once(fresh_home, badge, calls):
    ladder = price_ladder(badge, name="b", heights_mm=(40, 25, 40.0), quantities=(12, 1, 12))
    assert [r.height_mm for r in ladder.rungs] == [25, 40]
    assert ladder.quantities == (12, 1)
    assert calls["plan_stitches"] == 2


@pytest.mark.slow
def test_pool_and_cluster_give_what_this_process_gives(badge, tmp_path, monkeypatch):
    distributed = pytest.importorskip("distributed")
    answers = {}
    for kind in ("inline", "pool", "cluster"):
        # Each works everything out for itself.
        monkeypatch.setenv("FIRSTPIECE_HOME", str(tmp_path / kind))
        if kind == "cluster":
            with (
                distributed.LocalCluster(
                    n_workers=1, threads_per_worker=1, dashboard_address=None, host="127.0.0.1"
                ) as cluster,
                ClusterRunner(cluster.scheduler_address) as runner,
            ):
                ladder = ladder_of(badge, runner=runner)
        else:
            with InlineRunner() if kind == "inline" else PoolRunner(2) as runner:
                ladder = ladder_of(badge, runner=runner)
        answers[kind] = content_hash(ladder_object(ladder))
    assert len(set(answers.values())) == 1, answers


def test_progress_counts_all_heights(fresh_home, badge):
    told = []
    ladder_of(badge, report=lambda fraction, words: told.append((fraction, words)))
    fractions = [f for f, _w in told]
    assert fractions == sorted(fractions)
    assert fractions[-1] == pytest.approx(1.0)
    assert "25 mm high: Planning the stitches" in {w for _f, w in told}


def test_a_report_that_raises_stops_the_ladder(fresh_home, badge, calls):
    def stop(fraction, words):
        if fraction > 0.5:
            msg = "stopped"
            raise CancelledError(msg)

    with pytest.raises(CancelledError):
        ladder_of(badge, report=stop)
    assert calls["plan_stitches"] == 1


@pytest.mark.parametrize(
    ("heights", "quantities", "kind"),
    [
        ((), (1,), InputError),
        ((25.0,), (), InputError),
        ((25.0, 0.0), (1,), LengthError),
        ((25.0,), (0,), InputError),
        (tuple(range(10, 60)), tuple(range(1, 20)), InputError),
    ],
)
def test_what_is_no_ladder_is_refused_before_the_work(badge, calls, heights, quantities, kind):
    with pytest.raises(kind):
        price_ladder(badge, name="b", heights_mm=heights, quantities=quantities)
    assert not calls


def test_a_refusal_in_a_worker_comes_back_as_it_was(fresh_home):
    with PoolRunner(1) as runner, pytest.raises(PictureError, match=r"letter\.png: "):
        price_ladder(b"a letter", name="letter.png", heights_mm=(40.0,), quantities=(1,),
                     runner=runner)  # fmt: skip


def test_the_runner_follows_the_work_and_the_settings(monkeypatch):
    monkeypatch.delenv(CLUSTER_VARIABLE, raising=False)
    monkeypatch.setattr("os.cpu_count", lambda: 8)
    with choose_runner(1) as runner:
        assert isinstance(runner, InlineRunner)
    with choose_runner(3) as runner:
        assert isinstance(runner, PoolRunner)
    monkeypatch.setattr("os.cpu_count", lambda: 1)
    with choose_runner(3) as runner:
        assert isinstance(runner, InlineRunner)
