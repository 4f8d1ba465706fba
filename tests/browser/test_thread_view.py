"""The thread view draws true colours, survives a lost context and does without WebGL2.

Source of the colour check: the sRGB colours of ``threads.json``; CIEDE2000 by scikit-image. Bound
for thread: 6, what a buyer still calls the same colour under another light; for cloth, which is
not lit from the side: 3. Common practice, no source.
"""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image
from scipy import ndimage
from skimage.color import deltaE_ciede2000, rgb2lab
from tests.browser.journeys import bring_orchard, scale, until, wait_sharp

pytestmark = [pytest.mark.browser, pytest.mark.slow]

NO_WEBGL2 = """
const real = HTMLCanvasElement.prototype.getContext;
HTMLCanvasElement.prototype.getContext = function (kind, ...rest) {
  return kind === "webgl2" ? null : real.call(this, kind, ...rest);
};
"""

KEEP_CONTEXT = """
const real = HTMLCanvasElement.prototype.getContext;
HTMLCanvasElement.prototype.getContext = function (kind, ...rest) {
  const made = real.call(this, kind, ...rest);
  if (kind === "webgl2") window.keptContext = made;
  return made;
};
"""


def _picture(page) -> np.ndarray:
    if page.is_checked("[data-do=pins]"):
        page.uncheck("[data-do=pins]")
    shot = page.locator("#thread-view").screenshot()
    return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")) / 255.0


def _cleaned(page) -> np.ndarray:
    """The flat areas in the very same place, as an oracle of which thread lies where."""
    page.select_option("[data-do=showing]", "areas")
    flat = _picture(page)
    page.select_option("[data-do=showing]", "thread")
    return flat


def _mean_difference(picture, flat, rgb: tuple[int, int, int], inside_px: int) -> float:
    """CIEDE2000 between a colour and the picture's mean well inside its areas."""
    is_here = np.abs(flat - np.array(rgb) / 255.0).max(axis=2) < 0.01
    inside = ndimage.binary_erosion(is_here, iterations=inside_px)
    assert inside.sum() > 300, "this colour is hardly there"
    mean = picture[inside].mean(axis=0)[None, None]
    target = np.array(rgb)[None, None] / 255.0
    return float(deltaE_ciede2000(rgb2lab(mean), rgb2lab(target))[0, 0])


def _threads(desk):
    (job,) = desk.server.site.folder.jobs()
    result = desk.server.site.folder.read(job.id, job.run_id, "traveller.json")
    return {t["name"]: t["hex"] for t in result["plan"]["threads"]}, result["setup"]["cloth_hex"]


def _rgb(code: str) -> tuple[int, int, int]:
    return tuple(int(code[i : i + 2], 16) for i in (1, 3, 5))


@pytest.mark.parametrize("script", ["", NO_WEBGL2], ids=["webgl2", "plain canvas"])
def test_thread_and_cloth_keep_their_colours(desk, script):
    if script:
        desk.page.add_init_script(script)
    page = desk.enter()
    bring_orchard(page)
    wait_sharp(page)
    picture = _picture(page)
    threads, cloth = _threads(desk)
    flat = _cleaned(page)
    for name in ("poppy", "sunflower", "bark"):
        assert _mean_difference(picture, flat, _rgb(threads[name]), 4) < 6, name
    assert _mean_difference(picture, flat, _rgb(cloth), 12) < 3
    page.click("[data-do=stitches]")
    wait_sharp(page)
    assert scale(page) >= 20
    assert _picture(page).std() > 0.03, "single stitches are seen as light and dark"


def test_a_lost_context_is_drawn_anew(desk):
    desk.page.add_init_script(KEEP_CONTEXT)
    page = desk.enter()
    bring_orchard(page)
    wait_sharp(page)
    page.evaluate(
        "window.lost = keptContext.getExtension('WEBGL_lose_context'); lost.loseContext()"
    )
    until(page, "keptContext.isContextLost()")
    page.click("[data-do=closer]")
    page.wait_for_timeout(200)
    assert page.get_attribute("#thread-view", "data-sharp") == "false"
    page.evaluate("lost.restoreContext()")
    wait_sharp(page)
    picture = _picture(page)
    threads, _cloth = _threads(desk)
    assert _mean_difference(picture, _cleaned(page), _rgb(threads["poppy"]), 4) < 6


def test_the_still_picture_stays_when_the_sewing_cannot_be_fetched(desk):
    page = desk.enter()
    page.route("**/sewing", lambda route: route.fulfill(status=404))
    bring_orchard(page)
    page.wait_for_selector("#thread-view[data-failed]")
    assert page.locator("#thread-view img").is_visible()
    assert not page.locator("#hands").is_visible()
