"""The main job in a browser: drop the picture, watch, look, download; on a desk and on a phone.

Source of the checks: the open files of the same run, and WCAG 2.2 for reflow (1.4.10, 320 px).
"""

from __future__ import annotations

import csv
import io
import json

import pytest
from tests.browser.journeys import (
    bring_orchard,
    drop_picture,
    open_part,
    scale,
    until,
    wait_sharp,
)

from firstpiece.shop.demo_picture import draw_demo_picture

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.mark.parametrize("width", [1280, 360])
def test_from_the_dropped_picture_to_the_downloads(desk, tmp_path, width):
    desk.size(width)
    page = desk.enter()
    assert page.inner_text(".wait-line") == "A new job waits for its picture."
    drop_picture(page, draw_demo_picture(), "orchard.jpg")
    page.wait_for_selector("#drop-preview")
    page.fill("input[name=height]", "60 mm")
    page.check("input[value=tee-heather]")
    page.click("#go")
    page.wait_for_url("**/jobs/*")
    page.wait_for_selector("#wait[data-status=done]", timeout=180_000)
    wait_sharp(page)
    page.screenshot(path=tmp_path / f"traveller-{width}.png", full_page=True)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.locator(".findings li").count() >= 1
    assert page.locator("a.pin").count() >= 1
    assert page.locator(".wait .act").count() == 1

    open_part(page, "log")
    with page.expect_download() as got:
        page.click("#files a:text-is('stitches.csv')")
    rows = list(csv.DictReader(io.StringIO(got.value.path().read_text())))
    n_stitches = sum(r["action"] == "stitch" for r in rows)
    assert f"{n_stitches:,}".replace(",", "\u202f") in page.inner_text(".figures")
    with page.expect_download() as got:
        page.click("#files a:text-is('plan.json')")
    plan = json.loads(got.value.path().read_text())
    assert f"Plan {plan['plan_id']}" in page.inner_text(".head")

    page.wait_for_selector("#price-table table[data-whole=true]", timeout=300_000)
    assert page.locator("#price-table tbody tr").count() >= 3


def test_progress_is_seen_and_stop_stops(desk):
    page = desk.enter()
    drop_picture(page, draw_demo_picture(), "orchard.jpg")
    page.fill("input[name=height]", "155 mm")
    page.click("#go")
    page.wait_for_url("**/jobs/*")
    until(page, "document.getElementById('bar').value > 0")
    page.wait_for_selector("#early img")
    page.click("#stop button")
    page.wait_for_selector("#wait[data-status=stopped]")
    assert "stopped" in page.inner_text(".wait-line")
    assert page.locator(".wait .act").inner_text() == "Start again"


def test_a_refusal_loses_nothing(desk):
    page = desk.enter()
    drop_picture(page, draw_demo_picture(), "orchard.jpg")
    page.fill("input[name=height]", "as high as the house")
    page.click("#go")
    page.wait_for_selector("#fault[role=alert]")
    assert "is not a length" in page.inner_text("#fault")
    assert page.evaluate("document.getElementById('picture').files.length") == 1
    page.fill("input[name=height]", "60 mm")
    page.click("#go")
    page.wait_for_url("**/jobs/*")
    page.wait_for_selector("#wait[data-status=done]", timeout=180_000)


def test_the_sentence_plans_it_again(desk):
    page = desk.enter()
    bring_orchard(page)
    page.fill("#ask input[name=height]", "2 in")
    page.select_option("#ask select[name=garment]", "polo-navy")
    page.select_option("#ask select[name=n_colors]", "3")
    page.click("#ask button")
    page.wait_for_selector("#wait[data-status=done]", timeout=180_000)
    assert page.input_value("#ask input[name=height]") == "2 in"
    assert page.locator(".threads tbody tr").count() <= 3 + 1
    assert page.locator("text=Also tried").count() == 1


def test_closer_by_buttons_keys_and_wheel(desk):
    page = desk.enter()
    bring_orchard(page)
    wait_sharp(page)
    whole = scale(page)
    page.click("[data-do=closer]")
    wait_sharp(page)
    assert scale(page) == pytest.approx(1.6 * whole, rel=0.02)
    page.click("[data-do=stitches]")
    wait_sharp(page)
    assert scale(page) >= 20
    page.click("[data-do=whole]")
    wait_sharp(page)
    assert scale(page) == pytest.approx(whole, rel=0.01)

    box = page.locator("#thread-view")
    box.scroll_into_view_if_needed()
    page.evaluate("document.activeElement.blur()")
    box.hover()
    before = page.evaluate("scrollY")
    page.mouse.wheel(0, 240)
    until(page, f"scrollY > {before}")
    assert scale(page) == pytest.approx(whole, rel=0.01), "the wheel belongs to the page at first"
    box.focus()
    page.keyboard.press("+")
    wait_sharp(page)
    assert scale(page) == pytest.approx(1.5 * whole, rel=0.02)
    box.scroll_into_view_if_needed()
    box.hover()
    page.mouse.wheel(0, -240)
    box_scale = "Number(document.getElementById('thread-view').dataset.scale)"
    until(page, f"{box_scale} > {1.6 * whole}")
    page.keyboard.press("0")
    wait_sharp(page)
    assert scale(page) == pytest.approx(whole, rel=0.01)


def test_a_finding_shows_its_place(desk):
    page = desk.enter()
    bring_orchard(page)
    wait_sharp(page)
    whole = scale(page)
    link = page.locator("[data-show]").first
    pin = page.locator(f"a.pin:has(text:text-is('{link.inner_text()}'))")
    link.click()
    wait_sharp(page)
    assert scale(page) > 3 * whole
    view, mark = page.locator("#thread-view").bounding_box(), pin.bounding_box()
    assert mark["x"] + mark["width"] / 2 == pytest.approx(view["x"] + view["width"] / 2, abs=3)
    assert mark["y"] + mark["height"] / 2 == pytest.approx(view["y"] + view["height"] / 2, abs=3)


def test_without_scripts_it_still_works(open_desk):
    desk = open_desk(java_script_enabled=False)
    page = desk.enter()
    page.set_input_files(
        "#picture",
        {"name": "orchard.jpg", "mimeType": "image/jpeg", "buffer": draw_demo_picture()},
    )
    page.fill("input[name=height]", "60 mm")
    page.click("#go")
    page.wait_for_selector("#sewn", timeout=180_000)
    still = page.locator("#thread-view img")
    assert still.is_visible()
    assert page.locator("a.pin").first.is_visible()
    assert not page.locator("#hands").is_visible()
    page.fill("#ask input[name=height]", "cubit")
    page.click("#ask button")
    assert "is not a length" in page.inner_text(".wait-line")


def test_printed_it_is_the_same_form_without_buttons(desk, tmp_path):
    page = desk.enter()
    bring_orchard(page)
    wait_sharp(page)
    page.emulate_media(media="print")
    assert not page.locator("#hands").is_visible()
    assert not page.locator(".wait .act").is_visible()
    assert page.locator("#thread-view img").is_visible()
    assert page.locator("#findings").is_visible()
    assert page.locator(".areas-list li").first.is_visible()
    page.pdf(path=tmp_path / "traveller.pdf", format="A4")
    assert (tmp_path / "traveller.pdf").read_bytes().startswith(b"%PDF")
