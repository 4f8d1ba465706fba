"""One suite for every runner: the same tasks must give the same results, progress and faults."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))  # spawned workers inherit the search path

import runner_tasks as tasks

from firstpiece.errors import BusyError, CancelledError, FirstpieceError, PictureError
from firstpiece.model.frozen import content_hash
from firstpiece.running.cluster import ClusterRunner
from firstpiece.running.inline import InlineRunner
from firstpiece.running.pool import PoolRunner

WALK = (20260, 40)


@pytest.fixture(scope="module")
def cluster_address():
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=2, dashboard_address=None, host="127.0.0.1"
    ) as cluster:
        yield cluster.scheduler_address


@pytest.fixture(params=["inline", "pool", "cluster"])
def runner(request):
    if request.param == "inline":
        made = InlineRunner()
    elif request.param == "pool":
        made = PoolRunner(1)
    else:
        made = ClusterRunner(request.getfixturevalue("cluster_address"))
    with made:
        yield made


def test_every_runner_gives_the_result_of_a_plain_call(runner):
    class Silent:
        def report(self, fraction, words): ...
        def check(self): ...

    plain = tasks.walk(Silent(), WALK)
    assert content_hash(runner.submit(tasks.walk, WALK).result()) == content_hash(plain)


def test_progress_arrives_and_never_falls(runner):
    seen = []
    runner.submit(tasks.walk_slowly, 12).result(lambda fraction, words: seen.append(fraction))
    assert seen
    assert seen == sorted(seen)
    assert seen[-1] > 0.5


def test_several_runs_keep_their_results_apart(runner):
    runs = [runner.submit(tasks.walk, (seed, 3)) for seed in range(4)]
    hashes = {content_hash(run.result()) for run in runs}
    assert len(hashes) == 4
    assert all(run.is_done() for run in runs)


def test_a_refusal_crosses_the_border_whole(runner):
    with pytest.raises(PictureError) as caught:
        runner.submit(tasks.refuse, "logo.png").result()
    assert str(caught.value) == "logo.png: the picture is empty; send another."


def test_a_fault_of_the_program_is_not_swallowed(runner):
    with pytest.raises(ZeroDivisionError):
        runner.submit(tasks.break_down, None).result()


def test_a_cancelled_run_raises_cancelled(runner):
    run = runner.submit(tasks.walk, WALK)
    run.cancel()
    if isinstance(runner, InlineRunner):  # the others may finish before the word arrives
        with pytest.raises(CancelledError):
            run.result()


@pytest.mark.parametrize("kind", ["pool", "cluster"])
def test_cancelling_stops_a_task_under_way_long_before_its_end(kind, request, tmp_path):
    make = {
        "pool": lambda: PoolRunner(1),
        "cluster": lambda: ClusterRunner(request.getfixturevalue("cluster_address")),
    }[kind]
    marker = tmp_path / "started"
    with make() as runner:
        run = runner.submit(tasks.sleep_until_cancelled, str(marker))
        deadline = time.monotonic() + 20
        while not marker.exists() and time.monotonic() < deadline:
            time.sleep(0.01)
        assert marker.exists()
        asked = time.monotonic()
        run.cancel()
        with pytest.raises(CancelledError):
            run.result()
        # How quickly is measured in benchmarks; here, only that it did not run to its end.
        assert time.monotonic() - asked < tasks.LONG_S / 2


def test_a_pool_stops_a_task_that_never_checks_and_works_on(tmp_path):
    marker = tmp_path / "started"
    with PoolRunner(1) as runner:
        run = runner.submit(tasks.never_look_up, str(marker))
        while not marker.exists():
            time.sleep(0.01)
        asked = time.monotonic()
        run.cancel()
        with pytest.raises(CancelledError):
            run.result()
        assert time.monotonic() - asked < tasks.LONG_S / 2
        assert runner.submit(tasks.walk, WALK).result().shape == (40, 64)


def test_ctrl_c_on_the_terminal_does_not_reach_into_a_worker(tmp_path):
    marker = tmp_path / "started"
    with PoolRunner(1) as runner:
        run = runner.submit(tasks.interrupt_self, str(marker))
        assert run.result() == "went on"


def test_a_pool_that_lost_its_worker_starts_once_more(tmp_path):
    with PoolRunner(1) as runner:
        marker = str(tmp_path / "died")
        assert runner.submit(tasks.die_once, marker).result() == "second time"
        assert runner.submit(tasks.walk, WALK).result().shape == (40, 64)


def test_a_pool_that_loses_its_worker_twice_says_so():
    with PoolRunner(1) as runner, pytest.raises(FirstpieceError, match="ended unexpectedly"):
        runner.submit(tasks.die_always, None).result()


def test_closing_a_pool_stops_what_runs_and_leaves_no_files(tmp_path):
    runner = PoolRunner(1)
    folder = Path(runner._folder)
    marker = tmp_path / "started"
    run = runner.submit(tasks.sleep_until_cancelled, str(marker))
    while not marker.exists():
        time.sleep(0.01)
    assert folder.exists()
    runner.close()
    assert run.is_done()
    assert not folder.exists()


def test_no_cluster_at_the_address_is_one_clear_sentence():
    pytest.importorskip("distributed")
    with pytest.raises(BusyError, match=r"tcp://127\.0\.0\.1:9: no cluster answers there"):
        ClusterRunner("tcp://127.0.0.1:9", timeout_s=0.5)
