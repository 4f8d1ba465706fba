"""What a remedy is said to change is what taking it changes; wishes carry from run to run.

Source of the check: the run that taking the remedy makes, planned and priced on its own.
"""

from __future__ import annotations

import json
from decimal import Decimal

import pytest
from tests.web.pictures import pear_png

from firstpiece.model.edit import EditLog, SwapThread
from firstpiece.model.stitch import StitchSpec, StitchType, Underlay
from firstpiece.shop.prepare import PrepareRequest
from firstpiece.web.job_folder import Asked
from firstpiece.web.traveller import describe_change
from firstpiece.web.wishes import asked_after, carried, read_wishes, write_wishes

ASKED = Asked(height_mm=90.0, height_text="90 mm", garment="tee-white", n_colors=3)


def _wished() -> PrepareRequest:
    return PrepareRequest(
        b"", "art.png", 90.0, "tee-white",
        specs={4: StitchSpec(StitchType.SATIN, underlay=(Underlay.ZIGZAG,), pull_mm=0.2)},
        edits=EditLog(90.0, (SwapThread("poppy", "bark"),)), backing="tearaway-60", needle=65,
        true_shape=True,
    )  # fmt: skip


def test_wishes_come_back_as_they_were():
    request = _wished()
    wishes = read_wishes(write_wishes(request))
    assert wishes.specs == dict(request.specs)
    assert wishes.edits == request.edits
    assert (wishes.backing, wishes.needle, wishes.true_shape) == ("tearaway-60", 65, True)
    assert read_wishes("") is None


def test_the_same_wishes_make_the_same_run_and_others_another():
    one, other = asked_after(ASKED, _wished()), asked_after(ASKED, _wished())
    assert one.run_id() == other.run_id() != ASKED.run_id()
    assert Asked.from_object(json.loads(json.dumps(one.to_object()))) == one


def test_wishes_that_still_hold_are_carried():
    before = asked_after(ASKED, _wished())
    assert carried(before, ASKED) == before.wishes
    higher = Asked(120.0, "120 mm", "tee-white", n_colors=3)
    kept = read_wishes(carried(before, higher))
    assert kept.specs == {}
    assert kept.edits == _wished().edits
    assert carried(before, Asked(90.0, "90 mm", "tee-white", n_colors=5)) == ""
    assert carried(ASKED, ASKED) == ""


def test_a_change_is_told_with_signs():
    entry = {"stitches": -1200, "minutes": 0.04, "each": {"amount": "0.12", "currency": "GBP"},
             "left": None, "answers": True}  # fmt: skip
    told = describe_change(entry, "mm")
    assert told == "−1\u202f200 stitches, ±0.0 min, +£0.12 a piece; the finding is gone"
    same = {**entry, "stitches": 0, "each": {"amount": "0.00", "currency": "GBP"}, "left": 0.31}
    assert describe_change(same, "mm") == (
        "±0 stitches, ±0.0 min, ±£0.00 a piece; leaves 0.31\u00a0mm"
    )


@pytest.mark.slow
def test_taking_a_remedy_changes_what_was_said(page):
    page.bring(pear_png(), height="40 mm", garment="tee-black", quantity="12")
    (job,) = page.site.folder.jobs()
    before = page.site.folder.read(job.id, job.run_id, "traveller.json")
    tried = page.site.folder.read(job.id, job.run_id, "remedies.json")
    assert page.site.live.state(job.id, job.run_id, "remedies")["status"] == "done"
    useful = [
        (pin, choice, entry)
        for pin, entries in tried.items()
        for choice, entry in enumerate(entries)
        if entry and entry["answers"]
    ]
    assert useful, "the pear has a finding with a remedy"
    html = page.get(f"/jobs/{job.id}/{job.run_id}").text
    pin, choice, entry = useful[0]
    unit = before["findings"][int(pin) - 1]["unit"]
    assert describe_change(entry, unit) in html.replace("&#39;", "'")
    page.post(f"/jobs/{job.id}/{job.run_id}/remedy", pin=pin, choice=str(choice))
    page.site.live.wait()
    after_job = page.site.folder.job(job.id)
    assert after_job.run_id != job.run_id
    after = page.site.folder.read(job.id, after_job.run_id, "traveller.json")
    stitches = [r["forecast"]["n_stitches"] for r in (before, after)]
    each = [Decimal(r["quote"]["each"]["amount"]) for r in (before, after)]
    assert stitches[1] - stitches[0] == entry["stitches"]
    assert each[1] - each[0] == Decimal(entry["each"]["amount"])


@pytest.mark.slow
def test_an_edit_works_out_only_what_lies_downstream(page, monkeypatch):
    from firstpiece.shop import prepare

    done = []

    def counted(name, stage, function):
        real = getattr(stage, function)
        monkeypatch.setattr(stage, function, lambda *a, **k: (done.append(name), real(*a, **k))[1])

    counted("trace", prepare.tracing, "trace_artwork")
    counted("plan", prepare.planning, "plan_stitches")
    counted("forecast", prepare.forecasting, "forecast_sewout")
    monkeypatch.setattr("firstpiece.web.live.LiveWork.price", lambda *_a, **_k: None)
    page.bring(pear_png(), height="40 mm", garment="tee-black", quantity="1")
    (job,) = page.site.folder.jobs()
    assert done == ["trace", "plan", "forecast"]
    fields = {"height": "40 mm", "garment": "tee-black", "thread": "", "n_colors": ""}
    page.post(f"/jobs/{job.id}/again", quantity="24", **fields)
    page.site.live.wait()
    assert done == ["trace", "plan", "forecast"], "more pieces change only the price"
    page.post(f"/jobs/{job.id}/again", quantity="24", **{**fields, "garment": "tee-white"})
    page.site.live.wait()
    assert done.count("trace") == 1, "another garment in the same thread: the areas stay"
    assert done[3:] == ["plan", "forecast"]


@pytest.mark.slow
def test_a_design_without_a_job_is_shown_too(page):
    asked = Asked(height_mm=40.0, height_text="40 mm", garment="tee-white")
    draft = page.site.folder.take(pear_png(), label="pear.png", asked=asked)
    page.site.live.prepare(draft.id, draft.run_id)
    page.site.live.wait()
    answer = page.get(f"/jobs/{draft.id}")
    assert answer.status_code == 200
    assert 'id="agree"' in answer.text
