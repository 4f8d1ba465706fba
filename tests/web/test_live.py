"""Work under way: progress, stopping, restarts; with tasks made for the test.

Source for the stream's form: WHATWG HTML, 9.2 Server-sent events (``id``, ``event``, ``data``).
"""

from __future__ import annotations

import asyncio
import json
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Event

import pytest

from firstpiece.errors import CancelledError, FirstpieceError
from firstpiece.running.inline import InlineRunner
from firstpiece.web import live as live_work
from firstpiece.web.job_folder import Asked, JobFolder
from firstpiece.web.live import LiveWork

ASKED = Asked(height_mm=90.0, height_text="90 mm", garment="tee-white")


@pytest.fixture
def bench(tmp_path, monkeypatch):
    """A job and a LiveWork whose tasks the test chooses."""
    folder = JobFolder(tmp_path / "jobs")
    job = folder.take(b"picture", label="art.png", asked=ASKED)
    work = LiveWork(InlineRunner(), folder, tmp_path / "cards")

    def tasks(prepare, prices=lambda context, request: None):
        monkeypatch.setattr(live_work, "TASKS", {"prepare": prepare, "prices": prices})

    return folder, job, work, tasks


def _run_apart(waited_for):
    """Run a coroutine in a thread of its own: tests with a browser leave a loop in this one."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(asyncio.run, waited_for).result()


def _events(text: str) -> list[tuple[int, dict]]:
    blocks = [dict(line.split(": ", 1) for line in b.split("\n")) for b in text.split("\n\n") if b]
    assert all(b["event"] == "state" for b in blocks)
    return [(int(b["id"]), json.loads(b["data"])) for b in blocks]


async def _read(work, job, last_id=0) -> str:
    parts = [p async for p in work.stream(job.id, job.run_id, "prepare", last_id=last_id)]
    return "".join(parts)


def test_a_stop_is_noted_before_it_returns_and_the_late_result_is_thrown_away(bench):
    folder, job, work, tasks = bench
    begun, release = Event(), Event()

    def slow(context, request):
        begun.set()
        assert release.wait(10)
        context.check()

    tasks(slow)
    work.prepare(job.id, job.run_id)
    assert begun.wait(10)
    work.stop(job.id, job.run_id)
    assert work.state(job.id, job.run_id)["status"] == "stopped"
    release.set()
    work.wait()
    assert work.state(job.id, job.run_id)["status"] == "stopped"
    assert folder.state(job.id, job.run_id)["status"] == "stopped"


def test_a_stopped_run_can_be_started_again(bench):
    _folder, job, work, tasks = bench
    begun = Event()

    def patient(context, request):
        begun.set()
        while True:
            context.check()
            time.sleep(0.005)

    tasks(patient)
    work.prepare(job.id, job.run_id)
    assert begun.wait(10)
    work.stop(job.id, job.run_id)
    work.wait()
    tasks(lambda context, request: None)
    work.prepare(job.id, job.run_id)
    work.wait()
    assert work.state(job.id, job.run_id)["status"] == "done"


def test_a_run_under_way_is_not_begun_twice(bench):
    _folder, job, work, tasks = bench
    release, calls = Event(), []

    def slow(context, request):
        calls.append(1)
        assert release.wait(10)

    tasks(slow)
    work.prepare(job.id, job.run_id)
    work.prepare(job.id, job.run_id)
    release.set()
    work.wait()
    assert len(calls) == 1
    work.prepare(job.id, job.run_id)
    work.wait()
    assert len(calls) == 2, "asked for anew it is done anew"


def test_prices_follow_a_finished_run_by_themselves(bench):
    _folder, job, work, tasks = bench
    asked = []
    tasks(lambda context, request: None, lambda context, request: asked.append(request.asked))
    work.prepare(job.id, job.run_id)
    work.wait()
    assert asked == [ASKED]
    assert work.state(job.id, job.run_id, "prices")["status"] == "done"


def test_the_stream_counts_up_and_ends_with_the_task(bench):
    _folder, job, work, tasks = bench
    step, seen = Event(), Event()

    def steps(context, request):
        context.report(0.25, "Reading")
        seen.set()
        assert step.wait(10)
        context.report(1.0, "Done")

    tasks(steps)
    work.prepare(job.id, job.run_id)
    assert seen.wait(10)

    async def follow():
        async for part in work.stream(job.id, job.run_id, "prepare", last_id=7):
            parts.append(part)
            step.set()

    parts: list[str] = []
    _run_apart(follow())
    work.wait()
    events = _events("".join(parts))
    assert [i for i, _ in events] == list(range(8, 8 + len(events)))
    assert events[0][1] == {"status": "running", "fraction": 0.25, "stage": "Reading", "fault": ""}
    assert events[-1][1]["status"] == "done"


def test_a_reader_that_comes_late_still_learns_the_end(bench):
    _folder, job, work, tasks = bench
    tasks(lambda context, request: None)
    work.prepare(job.id, job.run_id)
    work.wait()
    (event,) = _events(_run_apart(_read(work, job)))
    assert event[1]["status"] == "done"


def test_a_mendable_fault_is_told_and_a_fault_of_ours_is_not_shown(bench, caplog):
    _folder, job, work, tasks = bench

    def mendable(context, request):
        msg = "the picture is empty"
        raise FirstpieceError(msg, remedy="choose another")

    tasks(mendable)
    work.prepare(job.id, job.run_id)
    work.wait()
    state = work.state(job.id, job.run_id)
    assert (state["status"], state["fault"]) == ("failed", "the picture is empty; choose another.")

    def broken(context, request):
        msg = "secret detail"
        raise ZeroDivisionError(msg)

    tasks(broken)
    work.prepare(job.id, job.run_id)
    work.wait()
    state = work.state(job.id, job.run_id)
    assert state["status"] == "failed"
    assert "secret" not in state["fault"]
    assert "secret detail" in caplog.text


def test_what_a_dead_server_left_running_is_interrupted(bench):
    folder, job, _work, _tasks = bench
    folder.set_state(job.id, job.run_id, "prepare", status="running")
    folder.set_state(job.id, job.run_id, "prices", status="done")
    folder.interrupt_all()
    assert folder.state(job.id, job.run_id, "prepare")["status"] == "interrupted"
    assert folder.state(job.id, job.run_id, "prices")["status"] == "done"


def test_a_new_picture_does_not_wait_behind_remedies_that_are_only_tried(bench, monkeypatch):
    folder, job, work, _tasks = bench
    trying, cut_short, order = Event(), Event(), []

    def tries(context, request):
        order.append(("tries", request.asked.height_mm))
        trying.set()
        if len(order) < 3:
            while not cut_short.is_set():
                try:
                    context.check()
                except CancelledError:
                    cut_short.set()
                    raise
                time.sleep(0.005)

    def prepare(_context, request):
        order.append(("prepare", request.asked.height_mm))

    quick = {"prepare": prepare, "prices": lambda context, request: None, "remedies": tries}
    monkeypatch.setattr(live_work, "TASKS", quick)
    work.prepare(job.id, job.run_id)
    assert trying.wait(10)
    other = folder.ask_again(job, replace(ASKED, height_mm=77.0))
    work.prepare(other.id, other.run_id)
    assert cut_short.wait(10)
    work.wait()
    assert order[:3] == [("prepare", 90.0), ("tries", 90.0), ("prepare", 77.0)]
    assert sorted(order[3:]) == [("tries", 77.0), ("tries", 90.0)], "what was set aside is done"
    assert work.state(job.id, job.run_id, "remedies")["status"] == "done"
