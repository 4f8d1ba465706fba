"""Everyone can use the page.

Source: W3C WCAG 2.2 levels A and AA, by axe-core's rules; 2.5.8 target size, 2.4.7 and 2.4.11
focus, 1.4.4 text to 200 %, 1.4.10 reflow, 2.1.1 keyboard and 2.3.3 motion are checked directly;
forced colours by CSS Color Adjustment Level 1.
"""

from __future__ import annotations

import io
import subprocess

import numpy as np
import pytest
from PIL import Image
from tests.browser.conftest import HERE
from tests.browser.journeys import bring_orchard, wait_sharp

pytestmark = [pytest.mark.browser, pytest.mark.slow]

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]

SMALL_TARGETS = """() => [...document.querySelectorAll(
    "a, button, input, select, summary, textarea")]
  .filter(e => e.checkVisibility({visibilityProperty: true}))
  .filter(e => e.type !== "file" && e.type !== "hidden" && !e.closest(".skip"))
  .map(e => [e, (e.closest("label.garment, label.tick") ?? e).getBoundingClientRect()])
  .filter(([e, r]) => r.width > 0 && (r.width < 23.9 || r.height < 23.9))
  .map(([e, r]) => `${e.outerHTML.slice(0, 90)} ${r.width.toFixed(0)}×${r.height.toFixed(0)}`)"""


def find_faults(page, node_tools) -> list[str]:
    """Return what axe-core finds wrong with the page."""
    page.evaluate((node_tools / "axe-core" / "axe.min.js").read_text("utf-8"))
    found = page.evaluate(
        "rules => axe.run(document, {runOnly: {type: 'tag', values: rules}})", RULES
    )
    assert len(found["passes"]) > 10
    return [f"{v['id']}: {n['html'][:120]}" for v in found["violations"] for n in v["nodes"]]


@pytest.mark.parametrize("width", [1280, 320])
def test_no_page_has_a_fault_that_a_checker_finds(desk, node_tools, width):
    desk.size(width)
    page = desk.enter()
    assert find_faults(page, node_tools) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    bring_orchard(page)
    wait_sharp(page)
    page.wait_for_selector("#price-table table[data-whole=true]", timeout=300_000)
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    page.wait_for_selector("#stitch-table tbody tr")
    assert find_faults(page, node_tools) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.goto(desk.server.origin + "/nowhere")
    assert find_faults(page, node_tools) == []


@pytest.mark.parametrize("width", [1280, 360])
def test_every_target_is_large_enough_to_hit(desk, width):
    desk.size(width)
    page = desk.enter()
    assert page.evaluate(SMALL_TARGETS) == []
    bring_orchard(page)
    wait_sharp(page)
    page.wait_for_selector("#price-table table[data-whole=true]", timeout=300_000)
    assert page.evaluate(SMALL_TARGETS) == []


def _tab_to(page, selector: str, most: int = 80) -> None:
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("s => document.activeElement.matches(s)", selector):
            return
        shown = page.evaluate(
            """() => { const e = document.activeElement; if (e === document.body) return true;
              const r = e.getBoundingClientRect();
              return e.type === "file" || (r.bottom > 0 && r.top < innerHeight); }"""
        )
        assert shown, "the focus is out of sight"
    pytest.fail(f"{selector} is not reached by the keyboard")


def test_the_main_job_by_keyboard_alone(desk):
    page = desk.enter()
    _tab_to(page, "input[name=height]")
    page.keyboard.press("Control+A")
    page.keyboard.type("60 mm")
    _tab_to(page, "input[name=garment]")
    page.keyboard.press("ArrowDown")
    _tab_to(page, "button[formaction]")
    page.keyboard.press("Enter")
    page.wait_for_url("**/jobs/*")
    page.wait_for_selector("#wait[data-status=done]", timeout=180_000)
    wait_sharp(page)
    _tab_to(page, ".wait .act")
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    _tab_to(page, "#thread-view")
    before = page.get_attribute("#thread-view", "data-scale")
    page.keyboard.press("+")
    wait_sharp(page)
    assert page.get_attribute("#thread-view", "data-scale") != before
    _tab_to(page, "#log summary", most=200)
    page.keyboard.press("Enter")
    _tab_to(page, "#files a")


def test_nothing_moves_for_who_asked_for_stillness(desk):
    page = desk.enter()
    page.emulate_media(reduced_motion="reduce")
    bring_orchard(page)
    moving = page.evaluate(
        """() => [...document.querySelectorAll("*")].filter(e => {
          const s = getComputedStyle(e);
          return s.animationName !== "none" || parseFloat(s.transitionDuration) > 0;
        }).length"""
    )
    assert moving == 0


def test_the_scripts_keep_the_types_they_promise(node_tools):
    done = subprocess.run(
        [str(node_tools / ".bin" / "tsc"), "-p", str(HERE / "tsconfig.json")],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout == ""
    assert done.returncode == 0


QUIET = ("/", "/devices", "/day", "/jobs", "/stock", "/tickets", "/layouts", "/join", "/nowhere")
"""Pages that need nothing to be shown."""

CUT_OFF = """() => [...document.querySelectorAll("button, .act, .quiet, summary, h1, h2, th")]
  .filter(e => e.checkVisibility() && e.scrollWidth > e.clientWidth + 2 && e.clientWidth > 0)
  .filter(e => getComputedStyle(e).overflowX !== "visible")
  .map(e => e.outerHTML.slice(0, 90))"""

OPEN_ALL = "document.querySelectorAll('details').forEach(d => d.open = true)"


def _screen(page, selector: str) -> np.ndarray:
    shot = page.locator(selector).first.screenshot()
    return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).astype(int)


def test_every_page_with_text_twice_as_large(desk, node_tools):
    desk.size(1280)
    page = desk.enter()
    bring_orchard(page)
    wait_sharp(page)
    for path in (*QUIET, page.url.removeprefix(desk.server.origin)):
        page.goto(desk.server.origin + path)
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        page.evaluate(OPEN_ALL)
        page.wait_for_timeout(100)
        assert page.evaluate("document.documentElement.scrollWidth") <= 1280, path
        assert page.evaluate(CUT_OFF) == [], path
    # The last is the traveller with everything open; the others are as quiet as at any size.
    assert find_faults(page, node_tools) == []


def test_the_systems_own_colours(open_desk):
    desk = open_desk(forced_colors="active", color_scheme="dark")
    page = desk.enter()
    bring_orchard(page)
    wait_sharp(page)
    for path in (*QUIET, page.url.removeprefix(desk.server.origin)):
        page.goto(desk.server.origin + path)
        edges = page.evaluate(
            """[...document.querySelectorAll(".act, .quiet")].filter(e => e.checkVisibility())
              .map(e => getComputedStyle(e).borderTopWidth)"""
        )
        assert set(edges) <= {"2px"}, path
        # A checker reads the page's own colours, so contrast is looked at in the picture.
        title = _screen(page, "h1") / 255.0
        light = np.where(title <= 0.04045, title / 12.92, ((title + 0.055) / 1.055) ** 2.4)
        luminance = light @ (0.2126, 0.7152, 0.0722)
        assert (luminance.max() + 0.05) / (luminance.min() + 0.05) > 7, path
    wait_sharp(page)
    # Colour by meaning stays: a thread's swatch is its thread, the sew-out its threads.
    page.evaluate(OPEN_ALL)
    page.wait_for_timeout(300)
    swatch = page.locator("#supplies .swatch rect").first
    wanted = [int(swatch.get_attribute("fill")[i : i + 2], 16) for i in (1, 3, 5)]
    shown = _screen(page, "#supplies")
    assert (np.abs(shown - wanted).max(axis=2) <= 2).sum() > 200
    assert _screen(page, "#thread-view").std() > 20


def test_no_quiet_page_has_a_fault_that_a_checker_finds(desk, node_tools):
    page = desk.enter()
    for width in (1280, 320):
        desk.size(width)
        for path in ("/devices", "/join"):
            page.goto(desk.server.origin + path)
            assert find_faults(page, node_tools) == [], path
            assert page.evaluate("document.documentElement.scrollWidth") <= width, path
