"""The page of record layouts, held against the layouts' own reader and writer."""

from __future__ import annotations

import html
import re

from tests.web.browserlike import ORIGIN

from firstpiece.files.record_layout import read_layout
from firstpiece.files.record_program import write_program
from firstpiece.files.record_reading import read_program
from firstpiece.shop.layout_guide import sample_plan
from firstpiece.web.layout_pages import BEGINNING


def text_of(answer) -> str:
    (text,) = re.findall(r"<textarea[^>]*>(.*?)</textarea>", answer.text, re.DOTALL)
    return html.unescape(text)


def test_the_page_opens_with_a_layout_that_works(page):
    answer = page.get("/layouts")
    assert answer.status_code == 200
    assert "This layout can be used." in answer.text
    layout = read_layout(text_of(answer))
    plan = sample_plan(layout)
    data = write_program(plan, layout)
    assert read_program(data, layout).n_stitches == plan.n_stitches
    for k in (0, 5, 12):
        assert f"{data[k]:02x}" in answer.text


def test_what_is_filled_in_becomes_the_file(page):
    fields = {**BEGINNING, "step_mm": "0,05", "stitch": "00xxxxxx xxyyyyyy yy------", "y": "down"}
    answer = page.post("/layouts/table", **fields)
    layout = read_layout(text_of(answer))
    assert (layout.step_mm, layout.y_sign) == (0.05, -1)
    saved = page.post("/layouts/file", text=text_of(answer))
    assert saved.headers["content-disposition"] == 'attachment; filename="layout.toml"'
    assert read_layout(saved.text) == layout


def test_faults_are_told_by_line_and_nothing_typed_is_lost(page):
    answer = page.post("/layouts/table", **{**BEGINNING, "stitch": "0xxxxxxx yyyyyyy"})
    assert answer.status_code == 422
    assert "15 bits" in answer.text
    assert 'value="0xxxxxxx yyyyyyy"' in answer.text
    for text in ("", "x = ", "[layout]\nstep_mm = 'far'"):
        told = page.post("/layouts/file", text=text)
        assert told.status_code == 422
        assert 'role="alert"' in told.text


def test_odd_fields_are_refused_in_words(page):
    odd = {**BEGINNING, "step_mm": "far", "numbers": "roman", "bytes_1": "-2", "x": "north"}
    assert page.post("/layouts/table", **odd).status_code == 422
    assert page.client.post("/layouts/text", data={}, headers={"origin": ORIGIN}).status_code == 403
