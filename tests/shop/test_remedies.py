"""Remedies applied as one action, their price, comparisons, and which swatch to sew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstpiece.errors import InputError
from firstpiece.forecasting.stage import forecast_sewout
from firstpiece.model.edit import AreaRef, EditLog, MakeBare, RecolorArea
from firstpiece.model.finding import Finding, Remedy, Severity, rank_findings
from firstpiece.model.region import BARE
from firstpiece.model.stitch import Role, StitchType
from firstpiece.shop.compare import compare_revisions, compare_setups
from firstpiece.shop.prepare import PrepareRequest, prepare
from firstpiece.shop.remedies import apply_remedy, find_remedy, is_by_hand, price_remedies
from firstpiece.shop.swatch_advice import advise_swatches

CODES = ("height", "drop", "recolor", "spacing", "stitch_type", "angle", "underlay", "pull",
         "order", "garment", "backing", "thread", "tie", "true_shape", "topping")  # fmt: skip


@pytest.fixture
def job(fresh_home, badge):
    request = PrepareRequest(badge, "badge", 40.0, garment="tee-black")
    return request, prepare(request)


def fill_of(prepared):
    return next(t for t in prepared.plan.treatments if t.stitch_type is StitchType.FILL)


def remedies_by_action(prepared):
    area = fill_of(prepared)
    values = {
        "height": 50.0, "drop": None, "recolor": "chalk white", "spacing": 0.6,
        "stitch_type": "satin", "angle": 1.2, "underlay": "lattice", "pull": 0.35, "order": 1.0,
        "garment": "tee-white", "backing": "tearaway-60", "thread": None,
        "tie": 2.4, "true_shape": None, "topping": None,
    }  # fmt: skip
    return {a: Remedy(a, a, area.region_id, v) for a, v in values.items()}


def test_every_verb_changes_what_it_says(job):
    request, before = job
    area = fill_of(before)
    made = {a: apply_remedy(request, r, prepared=before)
            for a, r in remedies_by_action(before).items()}  # fmt: skip
    assert set(made) == set(CODES)
    assert made["height"].height_mm == 50.0
    assert made["garment"].garment == "tee-white"
    assert made["backing"].backing == "tearaway-60"
    assert made["thread"].thread == "poly-60"
    spec = {a: made[a].specs[area.region_id] for a in ("spacing", "pull", "angle", "underlay")}
    assert made["true_shape"].true_shape
    assert made["topping"].topping
    assert made["tie"].specs[area.region_id].tie_mm == 2.4
    assert spec["spacing"].row_spacing_mm == 0.6
    assert spec["pull"].pull_mm == 0.35
    assert spec["angle"].angle_rad == 1.2
    assert "lattice" in [str(u) for u in spec["underlay"].underlay]
    assert made["stitch_type"].specs[area.region_id].stitch_type is StitchType.SATIN
    assert sorted(s.order for s in made["order"].specs.values()) == list(
        range(len(before.plan.treatments))
    )


def test_applying_replans_only_what_lies_downstream(fresh_home, badge, calls):
    request = PrepareRequest(badge, "badge", 40.0, garment="tee-black")
    before = prepare(request)
    wider = remedies_by_action(before)["spacing"]
    after = prepare(apply_remedy(request, wider, prepared=before))
    assert calls["trace_artwork"] == 1
    assert calls["plan_stitches"] == 2
    assert after.plan.n_stitches < before.plan.n_stitches


def test_an_area_left_out_is_cloth_and_a_recoloured_one_its_new_thread(job):
    request, before = job
    area = fill_of(before)
    made = remedies_by_action(before)
    left_out = prepare(apply_remedy(request, made["drop"], prepared=before))
    assert left_out.region_map.region(area.region_id).color_index == BARE
    assert area.region_id not in {t.region_id for t in left_out.plan.treatments}
    white = prepare(apply_remedy(request, made["recolor"], prepared=before))
    region = white.region_map.region(area.region_id)
    assert white.region_map.thread_of(region).name == "chalk white"
    assert "chalk white" in {t.name for t in white.plan.threads}


def test_remedies_are_priced_by_planning_them(job):
    request, before = job
    area = fill_of(before)
    finding = Finding("cloth-shows", Severity.WARN, "told", measured=9.0, limit=3.0,
                      region_id=area.region_id,
                      remedies=(Remedy("closer", "spacing", area.region_id, 0.25),
                                Remedy("film", "topping"),
                                Remedy("other", "garment")))  # fmt: skip
    closer, film, other = price_remedies(request, finding, prepared=before)
    assert closer.stitches > 0
    assert closer.minutes > 0
    assert closer.each.amount >= 0
    assert closer.after.plan.n_stitches == before.plan.n_stitches + closer.stitches
    assert not film.by_hand
    assert film.after.setup.topping
    assert other.by_hand
    assert (film.stitches, film.minutes, film.each.amount) == (0, 0.0, 0)


def test_remedies_done_by_hand_are_not_applied(job):
    request, before = job
    for remedy in (Remedy("swatch", "swatch"), Remedy("x", "recolor"), Remedy("x", "garment")):
        assert is_by_hand(remedy)
        with pytest.raises(InputError, match="by hand"):
            apply_remedy(request, remedy, prepared=before)
    with pytest.raises(InputError, match="no area 999"):
        apply_remedy(request, Remedy("x", "spacing", 999, 0.4), prepared=before)


def test_leaving_everything_out_is_refused(job):
    request, before = job
    ids = tuple(r.id for r in before.region_map.sewn_regions)
    bare = EditLog(0.0, tuple(MakeBare(AreaRef(n)) for n in ids))
    with pytest.raises(InputError, match="nothing would be left"):
        prepare(replace(request, edits=bare))
    other = EditLog(0.0, (RecolorArea(AreaRef(ids[0]), "sky sparkle"),))
    with pytest.raises(InputError, match="no thread"):
        prepare(replace(request, edits=other))


def test_marks_name_pins_and_letters(job):
    _request, before = job
    findings = rank_findings(before.findings)
    pin = next(i for i, f in enumerate(findings, 1) if f.remedies)
    assert find_remedy(before, str(pin)) == findings[pin - 1].remedies[0]
    assert find_remedy(before, f"{pin}a") == findings[pin - 1].remedies[0]
    for wrong in ("0", "99", "", "b", f"{pin}h"):
        with pytest.raises(InputError):
            find_remedy(before, wrong)


def test_set_ups_side_by_side(fresh_home, badge):
    base = PrepareRequest(badge, "badge", 40.0, garment="tee-white")
    columns = compare_setups(
        [base, replace(base, garment="tee-black"), replace(base, thread="poly-60"),
         replace(base, height_mm=60.0)]
    )  # fmt: skip
    white, black, thin, tall = columns
    assert black.label != white.label
    assert black.n_stitches == white.n_stitches
    assert black.shows.band.p50 != white.shows.band.p50
    assert thin.n_stitches > white.n_stitches
    assert tall.minutes.band.p50 > white.minutes.band.p50
    assert white.drawn_in.band.p50 > 0
    for wrong in ([base], [base] * 5):
        with pytest.raises(InputError, match="cannot be compared"):
            compare_setups(wrong)


def test_revisions_tell_each_changed_area_and_why(job):
    request, before = job
    area = fill_of(before)
    wider = prepare(
        apply_remedy(request, Remedy("x", "spacing", area.region_id, 0.6), prepared=before)
    )
    changes = compare_revisions(before, wider)
    changed = next(c for c in changes if c.after_id == area.region_id)
    assert any("0.60" in words for words in changed.changes)
    assert changed.reason
    assert compare_revisions(before, before) == ()
    gone = prepare(apply_remedy(request, Remedy("x", "drop", area.region_id), prepared=before))
    assert any(c.after_id == -1 for c in compare_revisions(before, gone))
    # At another height the same areas are found again.
    taller = prepare(replace(request, height_mm=44.0))
    assert all(-1 not in (c.before_id, c.after_id) for c in compare_revisions(before, taller))


def test_swatches_answer_what_is_open(job):
    _request, before = job
    advice = advise_swatches(before)
    names = [a.name for a in advice]
    assert "pull swatch" in names
    assert "cover card" in names
    assert [a.spread for a in advice] == sorted((a.spread for a in advice), reverse=True)


def test_a_tie_is_moved_along_its_path(job):
    request, before = job
    area = fill_of(before)
    remedy = Remedy("x", "tie", area.region_id, 2.4)
    after = prepare(apply_remedy(request, remedy, prepared=before))

    def ties(prepared):
        plan = prepared.plan
        own = (plan.role == Role.TIE) & (plan.region_id == area.region_id)
        return plan.xy_mm[own][:3].mean(axis=0)

    assert np.hypot(*(ties(before) - ties(after))) == pytest.approx(2.4, abs=0.3)
    assert {f.code for f in after.findings} <= {f.code for f in before.findings} | {"lump"}


def test_a_lump_offers_to_move_a_tie(job):
    _request, before = job
    plan, setup = before.plan, before.setup
    found = forecast_sewout(crowd_ties(plan), region_map=before.region_map, setup=setup)
    lump = next(f for f in found.findings if f.code == "lump")
    assert "tie" in {r.action for r in lump.remedies}


def crowd_ties(plan):
    """The plan with all its tie stitches carried to within half a millimetre of each other."""
    xy = plan.xy_mm.copy()
    rows = np.flatnonzero(plan.role == Role.TIE)
    xy[rows] = xy[rows[0]] + 0.2 * np.sin(rows)[:, None]
    return replace(plan, xy_mm=xy)


def test_shapes_settle_as_drawn(job):
    request, before = job
    after = prepare(replace(request, true_shape=True))
    first, last = after.aim.missed_mm[0], after.aim.missed_mm[-1]
    assert last[0] < 0.6 * first[0]
    assert last[1] < 0.6 * first[1]
    assert after.plan.content_id() != before.plan.content_id()
    assert before.aim is None


def test_a_film_answers_cloth_with_loops(fresh_home, badge):
    request = PrepareRequest(badge, "badge", 40.0, garment="towel-white")
    before = prepare(request)
    finding = next(f for f in before.findings if f.code == "needs-topping")
    (priced,) = price_remedies(request, finding, prepared=before)
    assert priced.answers
    assert "needs-topping" not in {f.code for f in priced.after.findings}
