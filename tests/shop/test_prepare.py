"""The chain, its progress, and that an edit re-runs only what lies downstream of it."""

from __future__ import annotations

import pytest

from firstpiece.errors import CancelledError, LengthError, PictureError
from firstpiece.model.finding import Severity
from firstpiece.model.frozen import content_hash
from firstpiece.model.region import TraceOptions
from firstpiece.model.stitch import StitchSpec, StitchType
from firstpiece.shop.lookup import Kept, look_up
from firstpiece.shop.prepare import check_height, prepare_picture, price_at
from firstpiece.shop.stage_version import _floors_below, stage_version
from firstpiece.store.results import ResultShelf

ONCE = {"trace_artwork": 1, "plan_stitches": 1, "forecast_sewout": 1, "list_questions": 1}


def test_the_chain_gives_every_part(fresh_home, badge):
    job = prepare_picture(badge, name="badge", height_mm=40.0, garment="tee-white", quantity=12)
    assert job.size_mm[1] == pytest.approx(40.0)
    assert job.plan.n_stitches == job.forecast.n_stitches == job.quote.n_stitches > 500
    assert job.quote.quantity == 12
    assert job.setup.garment.name == "tee-white"
    assert price_at(job, 12) == job.quote
    assert price_at(job, 1).each > job.quote.each


def test_the_same_job_is_looked_up_whole(fresh_home, badge, calls):
    first = prepare_picture(badge, name="badge", height_mm=40.0)
    assert calls == ONCE
    second = prepare_picture(badge, name="badge", height_mm=40.0)
    assert calls == ONCE
    assert content_hash(second.plan) == content_hash(first.plan)


def test_results_outlive_the_process(fresh_home, badge, calls):
    from firstpiece.shop import lookup

    first = prepare_picture(badge, name="badge", height_mm=40.0)
    lookup._shelf_at.cache_clear()  # what a new process begins with
    second = prepare_picture(badge, name="badge", height_mm=40.0)
    assert calls == ONCE
    for part in ("region_map", "plan", "forecast", "questions"):
        assert content_hash(getattr(second, part)) == content_hash(getattr(first, part)), part


def test_an_edit_of_an_area_runs_planning_but_not_tracing(fresh_home, badge, calls):
    first = prepare_picture(badge, name="badge", height_mm=40.0)
    widest = max(first.region_map.sewn_regions, key=lambda r: r.polygon.area)
    wish = StitchSpec(stitch_type=StitchType.FILL, row_spacing_mm=0.8)
    second = prepare_picture(badge, name="badge", height_mm=40.0, specs={widest.id: wish})
    assert calls == {**ONCE, "plan_stitches": 2, "forecast_sewout": 2}
    assert second.plan.n_stitches < first.plan.n_stitches
    treatment = next(t for t in second.plan.treatments if t.region_id == widest.id)
    assert treatment.spacing_mm == pytest.approx(0.8)


def test_another_quantity_runs_nothing(fresh_home, badge, calls):
    prepare_picture(badge, name="badge", height_mm=40.0)
    prepare_picture(badge, name="badge", height_mm=40.0, quantity=48)
    assert calls == ONCE


def test_another_cloth_with_the_same_rack_keeps_the_tracing(fresh_home, badge, calls):
    prepare_picture(badge, name="badge", height_mm=40.0, garment="tee-white")
    prepare_picture(badge, name="badge", height_mm=40.0, garment="apron-natural")
    assert calls["trace_artwork"] == 1
    assert calls["plan_stitches"] == 2


@pytest.mark.parametrize(
    "change", [{"height_mm": 41.0}, {"options": TraceOptions(smooth_mm=0.3)}, {"name": "other"}]
)
def test_another_name_height_or_option_runs_everything(fresh_home, badge, calls, change):
    prepare_picture(badge, name="badge", height_mm=40.0)
    prepare_picture(**{"data": badge, "name": "badge", "height_mm": 40.0, **change})
    assert calls == dict.fromkeys(ONCE, 2)


def test_the_same_pixels_in_another_file_are_the_same_picture(fresh_home, badge, calls):
    prepare_picture(badge, name="badge", height_mm=40.0)
    prepare_picture(badge + b"\n", name="badge", height_mm=40.0)
    assert calls == ONCE


def test_progress_rises_and_tells_every_step(fresh_home, badge):
    told = []
    prepare_picture(badge, name="badge", height_mm=40.0,
                    report=lambda fraction, words: told.append((fraction, words)))  # fmt: skip
    fractions = [fraction for fraction, _words in told]
    assert fractions == sorted(fractions)
    assert (fractions[0], fractions[-1]) == (0.0, 1.0)
    assert len({words for _fraction, words in told}) == len(told) >= 5


def test_a_report_that_raises_stops_the_work(fresh_home, badge, calls):
    def stop(fraction, words):
        if fraction >= 0.3:
            msg = "stopped"
            raise CancelledError(msg)

    with pytest.raises(CancelledError):
        prepare_picture(badge, name="badge", height_mm=40.0, report=stop)
    assert calls == {"trace_artwork": 1}


def test_findings_stand_worst_first_and_once(fresh_home, badge):
    job = prepare_picture(badge, name="badge", height_mm=290.0, garment="polo-navy")
    severities = [f.severity for f in job.findings]
    assert severities == sorted(severities, reverse=True)
    assert severities[0] == Severity.BLOCK
    assert job.blocks_sewing
    assert len(set(job.findings)) == len(job.findings)


def test_all_bare_is_nothing_to_sew(fresh_home, badge):
    bare = TraceOptions(bare_colors=((206, 40, 38), (62, 138, 58)))
    with pytest.raises(PictureError):
        prepare_picture(badge, name="badge", height_mm=40.0, options=bare)


@pytest.mark.parametrize("height", [0.0, 4.9, 1000.1, 1e9, -5.0, float("nan"), float("inf")])
def test_heights_that_cannot_be_sewn_are_refused(height):
    with pytest.raises(LengthError, match="choose a height from 5 mm to 1000 mm"):
        check_height(height)


def test_a_result_stands_under_stage_version_and_inputs():
    shelf = ResultShelf(None)
    ran = []

    def work(value):
        ran.append(value)
        return value

    first = look_up(shelf, "planning", (1, "a"), lambda: work("x"))
    assert look_up(shelf, "planning", (1, "a"), lambda: work("y")).value == "x"
    assert look_up(shelf, "forecasting", (1, "a"), lambda: work("z")).value == "z"
    assert look_up(shelf, "planning", ("1", "a"), lambda: work("w")).value == "w"
    by_key = look_up(shelf, "forecasting", (first,), lambda: work("v"))
    same = look_up(shelf, "forecasting", (Kept(first.key, "anything"),), lambda: work("u"))
    assert same.value == by_key.value == "v"
    assert ran == ["x", "z", "w", "v"]


def test_the_version_follows_the_source(monkeypatch, tmp_path):
    import firstpiece.shop.stage_version as module

    def version_of(text: str) -> str:
        stage = tmp_path / "planning"
        stage.mkdir(exist_ok=True)
        (stage / "stage.py").write_text(text)
        for name in ("model", "geometry", "kernels"):
            (tmp_path / name).mkdir(exist_ok=True)
        for name in ("units.py", "errors.py"):
            (tmp_path / name).write_text("")
        stage_version.cache_clear()
        _floors_below.cache_clear()
        return stage_version("planning")

    monkeypatch.setattr(module, "files", lambda _package: tmp_path)
    first = version_of("A = 1\n")
    assert version_of("A = 2\n") != first
    assert version_of("A = 1\n") == first
    (tmp_path / "model" / "stitch.py").write_text("B = 1\n")
    assert version_of("A = 1\n") != first
    stage_version.cache_clear()
    _floors_below.cache_clear()
