"""Areas by hand: choosing one, edits and wishes as forms, the way back, faults that harm nothing.

One small picture is worked out once; every edit after it re-runs only what lies downstream.
"""

from __future__ import annotations

import json
import re

import pytest
from tests.web.pictures import pear_png

from firstpiece.errors import InputError
from firstpiece.model.edit import EDIT_KINDS
from firstpiece.web.area_forms import OUTLINED, READERS, read_edits
from firstpiece.web.job_folder import Asked, JobFolder

AREAS = {
    "areas": [
        {
            "id": 0,
            "thread": "bark",
            "is_bare": False,
            "at_mm": [0.0, 0.0],
            "box_mm": [-5, -5, 5, 5],
        },
        {"id": 1, "thread": "", "is_bare": True, "at_mm": [9.0, 0.0], "box_mm": [6, -5, 12, 5]},
    ],
    "letters": [{"letters": 3, "areas": [0], "height_mm": 9.0, "off_line_mm": 0.2}],
    "symmetries": [{"centre_mm": [0, 0], "angle_rad": 1.57, "fold": 0, "error_mm": 0.1}],
}
FIELDS = {
    "area": "0", "other": "1", "thread": "bark", "old": "bark", "width": "0.5 mm", "way": "keep",
    "marks": "0,0 3,4", "row": "0", "symmetry": "0", "text": "Row", "font": "Noto Sans",
    "spacing": "0", "path": "arc", "radius": "40 mm",
}  # fmt: skip


def test_every_edit_can_be_asked_by_a_form():
    assert set(READERS) == {kind.kind for kind in EDIT_KINDS}
    for kind in READERS:
        (edit,) = read_edits(kind, FIELDS, AREAS)
        assert edit.kind == kind
    ring, bare = read_edits(OUTLINED, FIELDS, AREAS)
    assert (ring.kind, ring.thread, bare.kind) == ("ring", "bark", "make bare")


def test_thinner_is_thickening_by_less_than_nothing():
    (edit,) = read_edits("thicken", {**FIELDS, "way": "thinner"}, AREAS)
    assert edit.by_mm == -0.5
    assert edit.area.at_mm == (0.0, 0.0)


@pytest.mark.parametrize(
    ("kind", "changed"),
    [
        ("knit", {}),
        ("drop", {"area": "7"}),
        ("drop", {"area": ""}),
        ("split", {"marks": ""}),
        ("split", {"marks": "1,2"}),
        ("split", {"marks": "1;2,x 3"}),
        ("redraw", {"marks": "nan,0 1,1"}),
        ("sharpen", {"marks": "1e9,0"}),
        ("thicken", {"width": "wide"}),
        ("even", {"symmetry": "4"}),
        ("recolor", {"thread": "x" * 2000}),
    ],
)
def test_what_cannot_be_read_gets_one_sentence(kind, changed):
    with pytest.raises(InputError) as fault:
        read_edits(kind, {**FIELDS, **changed}, AREAS)
    assert "\n" not in str(fault.value)


def test_steps_lead_back_and_forth_without_limit(tmp_path):
    folder = JobFolder(tmp_path)
    asked = [Asked(40.0 + n, f"{40 + n} mm", "tee") for n in range(30)]
    job = folder.take(b"picture", label="a.png", asked=asked[0])
    for one in asked[1:]:
        job = folder.ask_again(job, one)
    for n in range(28, -1, -1):
        job = folder.step(job, -1)
        assert job.run_id == asked[n].run_id()
    assert folder.steps(job) == (0, 29)
    assert folder.step(job, -5).run_id == asked[0].run_id()
    assert folder.step(job, 3).run_id == asked[3].run_id()
    # Something new from here leaves what was taken back.
    job = folder.ask_again(job, Asked(90.0, "90 mm", "tee"))
    assert folder.steps(job) == (4, 0)
    assert folder.step(job, 1).run_id == job.run_id


@pytest.fixture(scope="module")
def bench(shared_page, no_price_tables):
    shared_page.bring(pear_png(), name="pear.png", height="40 mm", garment="tee-white")
    shared_page.site.live.wait()
    return shared_page, shared_page.site.folder.jobs()[0]


def _areas(page, job, run_id=""):
    return page.site.folder.read(job.id, run_id or job.run_id, "areas.json")


def _edit(page, job, edit, **fields):
    run_id = page.site.folder.job(job.id).run_id
    return page.post(f"/jobs/{job.id}/{run_id}/edit", edit=edit, **fields)


def test_a_chosen_area_says_what_it_is_and_what_can_be_asked(bench):
    page, job = bench
    sewn = [a for a in _areas(page, job)["areas"] if not a["is_bare"]]
    html = page.get(f"/jobs/{job.id}/{job.run_id}?area={sewn[0]['id']}").text
    assert f"<h3>Area {sewn[0]['id']}</h3>" in html
    asked = set(re.findall(r'name="edit" value="([\w ]+)"', html))
    assert {"recolor", "make bare", "thicken", "smooth", "split", "ring", "drop"} <= asked
    assert page.get(f"/jobs/{job.id}/{job.run_id}?area=999").status_code == 200


def test_an_edit_makes_a_new_run_and_can_be_taken_back_and_made_again(bench):
    page, job = bench
    area = next(a for a in _areas(page, job)["areas"] if not a["is_bare"])
    before = page.site.folder.job(job.id).run_id
    answer = _edit(page, job, "recolor", area=str(area["id"]), thread="poppy")
    assert answer.status_code == 303
    assert answer.headers["location"].endswith(f"?area={area['id']}#areas")
    page.site.live.wait()
    after = page.site.folder.job(job.id)
    changed = next(a for a in _areas(page, job, after.run_id)["areas"] if a["id"] == area["id"])
    assert changed["thread"] == "poppy"
    plan = page.get(f"/jobs/{job.id}/{after.run_id}/files/plan.json").json()
    assert "poppy" in {thread["name"] for thread in plan["threads"]}
    page.post(f"/jobs/{job.id}/{after.run_id}/step", by="-1")
    assert page.site.folder.job(job.id).run_id == before
    page.post(f"/jobs/{job.id}/{before}/step", by="1")
    assert page.site.folder.job(job.id).run_id == after.run_id
    page.post(f"/jobs/{job.id}/{after.run_id}/step", by="-1")


def test_an_edit_that_cannot_be_done_says_why_and_changes_nothing(bench):
    page, job = bench
    before = page.site.folder.job(job.id)
    area = str(_areas(page, before)["areas"][0]["id"])
    answer = _edit(page, job, "split", area=area, marks="500,500 600,600")
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert _edit(page, job, "drop", area="999").status_code == 422
    assert page.site.folder.job(job.id) == before


def test_a_wish_for_an_area_is_in_the_plan(bench):
    page, job = bench
    run_id = page.site.folder.job(job.id).run_id
    plan = page.get(f"/jobs/{job.id}/{run_id}/files/plan.json").json()
    fill = next(t for t in plan["treatments"] if t["stitch_type"] == "fill")
    fields = {"area": str(fill["region_id"]), "kind": "fill", "spacing": "0.5 mm", "angle": "30"}
    assert page.post(f"/jobs/{job.id}/{run_id}/wish", **fields).status_code == 303
    page.site.live.wait()
    after = page.site.folder.job(job.id).run_id
    plan = page.get(f"/jobs/{job.id}/{after}/files/plan.json").json()
    wished = next(t for t in plan["treatments"] if t["region_id"] == fill["region_id"])
    assert wished["spacing_mm"] == 0.5
    assert wished["angle_rad"] == pytest.approx(0.5236, abs=1e-3)
    bad = {**fields, "spacing": "40 mm"}
    assert page.post(f"/jobs/{job.id}/{after}/wish", **bad).status_code == 422


def test_an_area_is_shown_sewn_in_several_ways(bench):
    page, job = bench
    run_id = page.site.folder.job(job.id).run_id
    areas = [a for a in _areas(page, job, run_id)["areas"] if not a["is_bare"]]
    area = max(areas, key=lambda a: a["area_mm2"])["id"]
    html = page.get(f"/jobs/{job.id}/{run_id}/ways/{area}").text
    ways = json.loads(
        (page.site.folder.path(job.id, run_id) / f"way-{area}.json").read_text("utf-8")
    )
    assert {"bare", "outlined", "level"} <= {way["key"] for way in ways}
    pictures = set()
    for way in ways:
        address = f"/jobs/{job.id}/{run_id}/ways/{area}/{way['key']}.png"
        assert address in html
        picture = page.get(address).content
        assert picture.startswith(b"\x89PNG")
        pictures.add(picture)
    assert len(pictures) == len(ways)
    assert page.get(f"/jobs/{job.id}/{run_id}/ways/{area}/..%2Fstill.png").status_code == 404
    assert page.get(f"/jobs/{job.id}/{run_id}/ways/998").status_code == 422
