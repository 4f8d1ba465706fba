"""The whole way through the page without a browser, held against the open files the job writes.

Source of the figures: ``stitches.csv`` and the JSON files of the same run, which other tests hold
against references; the page may only repeat them.
"""

from __future__ import annotations

import csv
import gzip
import io
import json
import re

import numpy as np
import pytest
from tests.web.browserlike import KEY, ORIGIN, Page, TestClient
from tests.web.pictures import PEAR_SVG, pear_png

from firstpiece.running.inline import InlineRunner
from firstpiece.web.app import create_app
from firstpiece.web.view_blob import read_view_blob

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def page(shared_page):
    return shared_page


@pytest.fixture(scope="module")
def done(page):
    asked = {"height": "40 mm", "garment": "tee-white", "quantity": "12"}
    answer = page.bring(pear_png(), name="pear.png", **asked)
    assert answer.status_code == 303
    (job,) = page.site.folder.jobs()
    assert answer.headers["location"] == f"/jobs/{job.id}"
    assert page.site.live.state(job.id, job.run_id)["fault"] == ""
    return job


def _here(job) -> str:
    return f"/jobs/{job.id}/{job.run_id}"


def _file(page, job, name):
    return page.get(f"{_here(job)}/files/{name}")


def _stitch_rows(page, job):
    return list(csv.DictReader(io.StringIO(_file(page, job, "stitches.csv").text)))


def test_the_traveller_repeats_the_figures_of_the_files(page, done):
    html = page.get(_here(done)).text
    rows = _stitch_rows(page, done)
    n_stitches = sum(row["action"] == "stitch" for row in rows)
    assert f"<dd>{n_stitches:,}</dd>".replace(",", "\u202f") in html
    for thread in _file(page, done, "threads.json").json():
        assert thread["name"] in html
        assert f'fill="{thread["hex"]}"' in html
    for treatment in _file(page, done, "plan.json").json()["treatments"]:
        assert re.search(rf"Areas? [\d, and]*\b{treatment['region_id']}\b", html)
    assert html.index('class="wait-line"') < html.index('id="ask"') < html.index('id="sewn"')
    assert "T-shirt, white jersey" in html


def test_every_written_file_is_offered_and_comes_as_a_download(page, done):
    folder = page.site.folder.path(done.id, done.run_id) / "files"
    written = {p.name for p in folder.iterdir()}
    assert {"stitches.csv", "threads.json", "regions.svg", "plan.json", "forecast.json"} <= written
    html = page.get(_here(done)).text
    for name in written:
        answer = _file(page, done, name)
        assert f"{_here(done)}/files/{name}" in html
        assert answer.content == (folder / name).read_bytes()
        assert answer.headers["content-disposition"].startswith("attachment")


def test_the_packed_sewing_is_the_stitch_list(page, done):
    answer = page.get(f"{_here(done)}/sewing")
    packed = page.site.folder.path(done.id, done.run_id) / "sewing.fpv.gz"
    assert answer.headers["content-encoding"] == "gzip"
    blob = read_view_blob(gzip.decompress(packed.read_bytes()))
    rows = _stitch_rows(page, done)
    np.testing.assert_allclose(
        blob.xy_mm, [(float(r["x_mm"]), float(r["y_mm"])) for r in rows], atol=0.0101
    )
    np.testing.assert_array_equal(blob.thread, [int(r["thread"]) for r in rows])
    again = page.get(f"{_here(done)}/sewing", **{"if-none-match": answer.headers["etag"]})
    assert again.status_code == 304


def test_pictures_are_served_as_pictures(page, done):
    for name, start in (("original.png", b"\x89PNG"), ("still.jpg", b"\xff\xd8"),
                        ("thumb.png", b"\x89PNG"), ("cleaned.svg", b"<?xml")):  # fmt: skip
        assert page.get(f"{_here(done)}/pictures/{name}").content.startswith(start)


def test_the_price_table_follows_by_itself_and_can_be_asked_for(page, done):
    state = page.get(f"{_here(done)}/state?of=prices").json()
    assert state["status"] == "done", state
    html = page.get(_here(done)).text
    assert re.findall(r'<th scope="row">(\d+)\xa0mm', html) == ["25", "40", "55", "70"]
    assert re.findall(r'class="num">(\d+) pieces?</th>', html) == ["1", "12", "48"]
    quote = _file(page, done, "quote.json").json()["quotes"][0]
    ladder = page.site.folder.read(done.id, done.run_id, "ladder.json")
    rung = next(r for r in ladder["rungs"] if r["height_mm"] == 40)
    assert next(q for q in rung["quotes"] if q["quantity"] == 12)["each"] == quote["each"]
    answer = page.post(f"{_here(done)}/prices", heights="30 mm, 2 in", quantities="5")
    assert answer.headers["location"].endswith("#prices")
    page.site.live.wait()
    html = page.get(_here(done)).text
    assert re.findall(r'<th scope="row">([\d.]+)\xa0mm', html) == ["30", "50.8"]
    assert "5 pieces</th>" in html


def test_asking_for_the_same_again_finds_it_and_another_height_is_another_run(page, done):
    again = {"height": "40 mm", "garment": "tee-white", "thread": "", "quantity": "12"}
    before = page.site.folder.job(done.id).runs
    page.post(f"/jobs/{done.id}/again", **again)
    assert sorted(page.site.folder.job(done.id).runs) == sorted(before)
    page.post(f"/jobs/{done.id}/again", **{**again, "height": "1 1/2 in"})
    page.site.live.wait()
    job = page.site.folder.job(done.id)
    assert done.run_id in job.runs[:-1]
    assert page.site.folder.asked(job.id, job.run_id).height_mm == pytest.approx(38.1)
    html = page.get(f"/jobs/{job.id}").text
    assert 'value="1 1/2 in"' in html
    assert f'href="/jobs/{job.id}/{done.run_id}"' in html


def test_jobs_outlive_the_server(page, done):
    app = create_app(home=page.home, guard=page.site.guard, runner=InlineRunner())
    with TestClient(app, base_url=ORIGIN) as client:
        client.get(f"/enter?key={KEY}")
        assert "pear.png" in client.get("/").text
        assert 'id="sewn"' in client.get(_here(done)).text


def test_a_vector_picture_is_shown_as_our_own_drawing(page):
    page.bring(PEAR_SVG, name="pear.svg", height="40 mm")
    job = next(j for j in page.site.folder.jobs() if j.label == "pear.svg")
    answer = page.get(f"{_here(job)}/pictures/original.svg")
    assert answer.headers["content-type"].startswith("image/svg+xml")
    assert answer.content != PEAR_SVG
    assert b"<circle" not in answer.content
    assert b"#ceaa28" in answer.content


def test_a_remedy_is_taken_with_one_form(page, done):
    folder = page.site.folder
    result = folder.read(done.id, done.run_id, "traveller.json")
    by_hand = {"label": "Leave it out", "action": "drop", "region_id": 0, "value": None}
    by_click = {"label": "Sew it 44 mm high", "action": "height", "region_id": -1, "value": 44.0}
    finding = {
        **{"pin": 1, "code": "too-small", "severity": "block", "reason": "Too small."},
        **{"where_mm": [0, 0], "measured": 0.2, "limit": 0.4, "unit": "mm", "region_id": 0},
        "remedies": [by_hand, by_click],
    }
    result["findings"] = [finding]
    path = folder.path(done.id, done.run_id) / "traveller.json"
    kept = path.read_text("utf-8")
    path.write_text(json.dumps(result), "utf-8")
    # What was tried belongs to the findings that stood there before.
    (path.parent / "remedies.json").unlink(missing_ok=True)
    html = page.get(_here(done)).text
    assert "This job waits for a change: Too small." in html
    assert html.index("Sew it 44 mm high") < html.index('id="ask"')
    assert page.post(f"{_here(done)}/remedy", pin="1", choice="0").status_code == 422
    assert page.post(f"{_here(done)}/remedy", pin="9", choice="0").status_code == 404
    page.post(f"{_here(done)}/remedy", pin="1", choice="1")
    path.write_text(kept, "utf-8")
    page.site.live.wait()
    job = folder.job(done.id)
    assert folder.asked(job.id, job.run_id).height_mm == 44.0


def test_a_result_of_an_older_program_waits_to_be_done_again(page, done):
    path = page.site.folder.path(done.id, done.run_id) / "traveller.json"
    kept = path.read_text("utf-8")
    path.write_text('{"plan": {}}', "utf-8")
    html = page.get(_here(done)).text + page.get("/").text
    path.write_text(kept, "utf-8")
    assert html.count("by an earlier Firstpiece") >= 1
    assert "Do it again" in html


def test_what_the_page_says_it_waits_for_is_one_line_with_one_action(page: Page, done):
    html = page.get(_here(done)).text
    first = html[html.index('<section class="wait"') : html.index("</section>")]
    assert first.count('class="act"') == 1
    assert first.count("wait-line") == 1
