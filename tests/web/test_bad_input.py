"""Bad input gets one clear sentence on a page, and nothing that was filled in is lost."""

from __future__ import annotations

import html as html_text
import re

import pytest
from tests.web.pictures import NOTHING_SVG, pear_png

from firstpiece.shop.job_book import list_jobs


def _line(html: str) -> str:
    match = re.search(r'class="wait-line"[^>]*>(.*?)</(?:h1|p)>', html, re.DOTALL)
    assert match, html[:400]
    return html_text.unescape(match[1]).strip()


@pytest.mark.parametrize(
    ("fields", "part"),
    [
        ({"height": "tall"}, "“tall” is not a length"),
        ({"height": "0 mm"}, "cannot be sewn"),
        ({"height": "9 km"}, "not a unit"),
        ({"height": "4000"}, "cannot be sewn"),
        ({"height": "-3 mm"}, "is not a length"),
        ({"quantity": "0"}, "not a number of pieces"),
        ({"quantity": "1e3"}, "not a number of pieces"),
        ({"quantity": "٣"}, "not a number of pieces"),
        ({"garment": "spacesuit"}, "no card “spacesuit”"),
    ],
)
def test_a_field_that_cannot_be_used_is_told_and_the_rest_kept(page, fields, part):
    asked = {"height": "77 mm", "garment": "tee-black", "quantity": "9", **fields}
    answer = page.bring(pear_png(), **asked)
    assert answer.status_code == 422
    assert part in _line(answer.text)
    kept = {k: v for k, v in asked.items() if k not in fields}
    for name in kept:
        if name != "garment":
            assert f'name="{name}" value="{kept[name]}"' in answer.text
    assert page.site.folder.jobs() == ()


def test_no_picture_is_told(page):
    answer = page.bring(b"")
    assert answer.status_code == 422
    assert "no picture was chosen" in _line(answer.text)


@pytest.mark.parametrize(
    "data",
    [
        b"hello, this is no picture",
        b"GIF89a" + bytes(40),
        b"<svg",
        b"%PDF-1.7 ...",
        pear_png()[:300],
    ],
    ids=["text", "gif", "svg-cut-short", "pdf", "png-cut-short"],
)
def test_a_file_that_is_no_picture_ends_in_one_sentence(page, data):
    """What is no picture at all is refused at once; what only looks like one, by the worker."""
    answer = page.bring(data, name="thing.png")
    if answer.status_code == 422:
        assert _line(answer.text).startswith("thing.png: ")
        assert page.site.folder.jobs() == ()
        assert not (page.home / "store.sqlite").exists() or list_jobs().jobs == ()
        return
    (job,) = page.site.folder.jobs()
    line = _line(page.get(f"/jobs/{job.id}").text)
    assert line.startswith("This job waits for a change: ")
    assert "Traceback" not in line
    assert "inside Firstpiece" not in line
    folder = page.site.folder.path(job.id, job.run_id)
    assert not (folder / "traveller.json").exists()
    assert not (folder / "files").exists()


def test_a_wrong_word_in_the_sentence_keeps_the_page(page):
    page.bring(NOTHING_SVG)
    (job,) = page.site.folder.jobs()
    answer = page.post(
        f"/jobs/{job.id}/again", height="12 parsec", garment="tee-black", quantity="3"
    )
    assert answer.status_code == 422
    assert "parsec" in _line(answer.text)
    assert 'value="12 parsec"' in answer.text
    assert '<option value="tee-black" selected>' in answer.text
    assert page.site.folder.job(job.id).runs == job.runs


@pytest.mark.parametrize(
    ("heights", "quantities", "part"),
    [
        ("", "1", "1 to 8 heights"),
        ("60, up", "1", "“up” is not a length"),
        ("60", "many", "not a number of pieces"),
        (",".join(map(str, range(20, 40))), "1", "1 to 8 heights"),
    ],
)
def test_a_wrong_price_list_is_told_beside_the_prices(page, heights, quantities, part):
    page.bring(NOTHING_SVG)
    (job,) = page.site.folder.jobs()
    path = f"/jobs/{job.id}/{job.run_id}/prices"
    answer = page.post(path, heights=heights, quantities=quantities)
    assert answer.status_code == 422
    assert part in html_text.unescape(answer.text)


def test_an_unknown_job_and_an_unknown_run_are_told(page):
    page.bring(NOTHING_SVG)
    (job,) = page.site.folder.jobs()
    for path in ("/jobs/ffffffffffffffff", f"/jobs/{job.id}/ffffffffffffffff", "/jobs/x"):
        assert page.get(path).status_code == 404


def test_a_form_without_its_file_is_told(page):
    answer = page.post("/jobs", height="90 mm")
    assert answer.status_code == 422
    assert _line(answer.text)
