"""The traveller's sections by hand and keyboard: the sew-out from both sides, on any garment, its
maps, the sewing replayed, the table; the picture wiped; prices afforded; remedies taken.

Sources: ``stitches.csv`` and ``forecast.json`` of the same run; for the scale CIE L* must rise
evenly (Nuñez, Anderton and Renslow 2018 made it so); WCAG 2.2 2.1.1 keyboard, 2.3.3 motion. That
bobbin thread shows as the middle third behind a satin column is common practice, no source.
"""

from __future__ import annotations

import io
import json
import re

import numpy as np
import pytest
from PIL import Image
from skimage.color import rgb2lab
from tests.browser.journeys import bring_orchard, open_part, until, wait_sharp

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture
def sewn(desk):
    """The orchard's sew-out, whole and sharp, without pins."""
    page = desk.enter()
    bring_orchard(page)
    wait_sharp(page)
    page.uncheck("[data-do=pins]")
    return desk


def _picture(page) -> np.ndarray:
    wait_sharp(page)
    shot = page.locator("#thread-view canvas").screenshot()
    return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")) / 255.0


def _result(desk):
    (job,) = desk.server.site.folder.jobs()
    return desk.server.site.folder.read(job.id, job.run_id, "traveller.json")


def _near(picture, rgb, within=0.12) -> np.ndarray:
    return np.abs(picture - np.array(rgb) / 255.0).max(axis=2) < within


def _rgb(code: str) -> tuple[int, ...]:
    return tuple(int(code[i : i + 2], 16) for i in (1, 3, 5))


def test_both_sides_any_garment_and_the_maps(sewn):
    page, result = sewn.page, _result(sewn)
    front = _picture(page)

    page.select_option("[data-do=side]", "back")
    back = _picture(page)
    # Left and right change places: what was sewn on the front's left lies on the back's right.
    paper = back[3, 3]
    is_back = np.abs(back - paper).max(axis=2) > 0.15
    cloth = front[3, 3]
    is_front = np.abs(front - cloth).max(axis=2) > 0.15
    mirrored, straight = is_front[:, ::-1], is_front
    assert (is_back & mirrored).sum() > 1.15 * (is_back & straight).sum()
    # Bobbin thread shows: much of what is coloured in front is near white behind.
    assert back[mirrored].mean() > front[straight].mean() + 0.15
    page.select_option("[data-do=side]", "front")
    assert np.abs(_picture(page) - front).mean() < 0.01

    page.select_option("[data-do=cloth]", "polo-navy")
    navy = _picture(page)
    assert navy[3, 3].mean() < 0.25
    assert page.is_visible("#elsewhere button"), "the plan is for another garment, and that is said"
    assert page.locator("#elsewhere input[name=garment]").input_value() == "polo-navy"
    page.select_option("[data-do=cloth]", result["garment"])
    assert not page.is_visible("#elsewhere")

    for name in ("cover", "threads", "shift", "front", "back", "drawn", "holes"):
        page.select_option("[data-do=showing]", name)
        page.wait_for_selector("#legend:not([hidden])")
        box = page.locator("#thread-view").bounding_box()
        page.mouse.move(box["x"] + box["width"] * 0.5, box["y"] + box["height"] * 0.3)
        until(page, "document.querySelector('.reading').textContent.includes('mm from the middle')")
    by_hand = page.inner_text(".reading")
    page.locator("#thread-view").focus()
    page.keyboard.press("ArrowUp")
    until(page, f"document.querySelector('.reading').textContent !== {json.dumps(by_hand)}")
    assert page.locator(".cross").is_visible(), "by keyboard the figure is that under the cross"
    assert re.search(r"per\smm²|nothing there", page.inner_text(".reading"))
    assert page.get_attribute(".reading", "aria-live") == "polite"
    page.select_option("[data-do=showing]", "thread")
    assert not page.is_visible("#legend")


def test_the_scale_gets_evenly_lighter(sewn):
    shades = sewn.page.evaluate(
        """import("/static/cividis.js").then(m =>
             Array.from({length: 256}, (_, i) => m.cividis(i / 255)))"""
    )
    lightness = rgb2lab(np.array(shades)[None] / 255.0)[0, :, 0]
    assert (np.diff(lightness) > -0.2).all()
    straight = np.linspace(lightness[0], lightness[-1], 256)
    assert np.abs(lightness - straight).max() < 3.0
    assert (shades[0], shades[-1]) == ([0, 0x22, 0x4E], [0xFE, 0xE8, 0x38])


def test_the_sewing_replayed(sewn):
    page, result = sewn.page, _result(sewn)
    whole = _picture(page)
    forecast_s = 60 * result["forecast"]["sewing_minutes"]["p50"]
    played_s = float(page.get_attribute("#playback", "data-seconds"))
    assert played_s == pytest.approx(forecast_s, rel=0.005), "paced by the forecast's own law"

    # The slider is reached and moved by keyboard: Home is the first stitch, End the whole.
    slider = page.locator("#playback input[type=range]")
    slider.focus()
    page.keyboard.press("Home")
    until(page, "Number(document.getElementById('playback').dataset.end) < 3")
    bare = _picture(page)
    assert np.abs(bare - bare[3, 3]).max(axis=2).mean() < 0.1
    page.keyboard.press("PageUp")
    part = _picture(page)
    n = int(page.get_attribute("#playback", "data-end"))
    assert 0 < n < result["plan"]["n_stitches"]
    assert "Stitch" in slider.get_attribute("aria-valuetext")
    page.select_option("#playback select", "10")
    page.click("#playback button")
    until(page, f"Number(document.getElementById('playback').dataset.end) > {n + 50}")
    page.click("#playback button")
    grown = _picture(page)
    assert np.abs(grown - bare).mean() > np.abs(part - bare).mean()
    slider.focus()
    page.keyboard.press("End")
    wait_sharp(page)
    assert np.abs(_picture(page) - whole).mean() < 0.01


def test_stitch_by_stitch(sewn):
    page, result = sewn.page, _result(sewn)
    page.click("#stitch-table summary")
    until(page, "document.querySelector('#stitch-table tbody th') !== null")
    rows = page.locator("#stitch-table tbody tr")
    assert rows.count() == 40
    assert rows.nth(0).locator("th").inner_text() == "1"
    page.fill("#stitch-table input", "41")
    page.keyboard.press("Tab")
    until(page, "document.querySelector('#stitch-table tbody th').textContent === '41'")
    page.click("[data-page=back]")
    until(page, "document.querySelector('#stitch-table tbody th').textContent === '1'")
    told = [rows.nth(7).locator("td").nth(k).inner_text() for k in range(6)]
    (job,) = sewn.server.site.folder.jobs()
    folder = sewn.server.site.folder.path(job.id, job.run_id) / "files"
    line = (folder / "stitches.csv").read_text("utf-8").splitlines()[8].split(",")
    assert told[0].startswith(line[2])
    assert (float(told[1]), float(told[2])) == pytest.approx(
        (float(line[0]), float(line[1])), abs=0.011
    )
    assert told[4] == result["plan"]["threads"][int(line[3])]["name"]
    rows.nth(7).locator("button").click()
    until(page, "document.getElementById('playback').dataset.end === '8'")


def test_who_asked_for_stillness_gets_steps(open_desk):
    desk = open_desk(reduced_motion="reduce")
    page = desk.enter()
    bring_orchard(page)
    wait_sharp(page)
    page.evaluate(
        """() => { window.ends = new Set();
          new MutationObserver(() => ends.add(document.getElementById("playback").dataset.end))
            .observe(document.getElementById("playback"), {attributes: true}); }"""
    )
    page.click("#playback button")
    page.wait_for_timeout(2600)
    page.click("#playback button")
    assert 2 <= page.evaluate("ends.size") <= 4, "a step a second, not a film"


def _wipe(page) -> np.ndarray:
    shot = page.locator("#wipe svg").screenshot()
    return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")) / 255.0


def test_the_cleaned_picture_is_wiped_over_the_original_by_keyboard(sewn):
    page = sewn.page
    open_part(page, "picture")
    assert page.is_visible("#pair")
    page.select_option("#seen select", "wipe")
    assert not page.is_visible("#pair")
    slider = page.locator("#wipe input")
    slider.focus()
    page.keyboard.press("Home")
    came = _wipe(page)
    page.keyboard.press("End")
    cleaned = _wipe(page)
    # The same places are painted in both: the one lies on the other. White is paper.
    green = np.array([0x3F, 0x8F, 0x3F]) / 255.0
    is_green = [np.abs(p - green).max(axis=2) < 0.2 for p in (came, cleaned)]
    both, either = np.logical_and(*is_green).sum(), np.logical_or(*is_green).sum()
    assert both / either > 0.9
    page.fill("#wipe input", "50")
    half = _wipe(page)
    width = half.shape[1]
    assert np.abs(half - cleaned)[:, : width // 2 - 4].mean() < 0.004
    assert np.abs(half - came)[:, width // 2 + 4 :].mean() < 0.004


def test_a_budget_is_slid_and_the_price_read_from_both_sides(sewn):
    page = sewn.page
    page.wait_for_selector("#afford:not([hidden])", timeout=180_000)
    slider = page.locator("#afford input")
    slider.focus()
    page.keyboard.press("Home")
    assert "less than" in page.inner_text(".afford-size")
    assert page.locator(".within").count() == 0
    page.keyboard.press("End")
    assert "and more" in page.inner_text(".afford-size")
    rows = page.locator("#price-table tr[data-height]")
    assert page.locator(".within").count() == rows.count() == 4
    # Between two heights that were planned the size lies between them.
    cells = [
        float(rows.nth(k).locator("[data-each]").first.get_attribute("data-each")) for k in (1, 2)
    ]
    heights = [float(rows.nth(k).get_attribute("data-height")) for k in (1, 2)]
    page.fill("#afford input", str(round(sum(cells)) / 2))
    shown = page.inner_text(".afford-size")
    assert heights[0] < float(shown.split()[1]) < heights[1]
    assert slider.get_attribute("aria-valuetext").endswith(shown)
    assert page.input_value("#budget input[name=budget]").startswith(
        str(round(sum(cells)) // 2)[:1]
    )
    assert "margin" not in page.inner_text("#bill").lower()
    assert "Margin" in page.inner_text("#books")


def _n_stitches(page) -> int:
    return int(page.locator(".figures dd").first.inner_text().replace("\u202f", ""))


def test_remedies_show_their_price_and_one_is_taken(sewn):
    page = sewn.page
    page.wait_for_selector(".figure-line", timeout=240_000)
    line = page.locator(".figure-line").first
    words = line.inner_text().split(" stitches")[0]
    change = int(words.replace("−", "-").replace("\u202f", "").replace("±", ""))
    before, here = _n_stitches(page), page.get_attribute("#wait", "data-here")
    line.locator("xpath=preceding-sibling::button").click()
    until(page, f"document.getElementById('wait')?.dataset.here !== '{here}'")
    page.wait_for_selector("#wait[data-status=done]", timeout=180_000)
    assert _n_stitches(page) - before == change
