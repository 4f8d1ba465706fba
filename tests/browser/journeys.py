"""Steps that several browser tests take."""

from __future__ import annotations

import base64
import time

from firstpiece.shop.demo_picture import draw_demo_picture

DROP = """([name, type, text]) => {
  const bytes = Uint8Array.from(atob(text), c => c.charCodeAt(0));
  const carried = new DataTransfer();
  carried.items.add(new File([bytes], name, {type}));
  for (const kind of ["dragenter", "dragover", "drop"]) {
    document.getElementById("drop").dispatchEvent(
      new DragEvent(kind, {bubbles: true, cancelable: true, dataTransfer: carried}));
  }
}"""


def drop_picture(page, data: bytes, name: str, media_type: str = "image/jpeg") -> None:
    """Drop a file on the arrival form as a hand would."""
    page.evaluate(DROP, [name, media_type, base64.b64encode(data).decode()])


def bring_orchard(page, *, height: str = "60 mm") -> None:
    """Go from the arrival form to the finished traveller of the orchard's picture.

    A job that an earlier test of the same server has brought so far is opened from the list.
    """
    known = page.locator(f".jobs a:has(img):has-text('{height} high'):has-text('orchard.jpg')")
    if known.count():
        known.first.click()
    else:
        drop_picture(page, draw_demo_picture(), "orchard.jpg")
        page.fill("input[name=height]", height)
        page.click("#go")
    page.wait_for_url("**/jobs/*")
    page.wait_for_selector("#wait[data-status=done]", timeout=180_000)


def open_part(page, name: str) -> None:
    """Open a quiet section of the traveller by its line."""
    part = page.locator(f"#{name} > details, details#{name}").first
    if part.get_attribute("open") is None:
        part.locator("> summary").click()


def wait_sharp(page) -> None:
    """Wait until the thread view has a sharp picture of what it shows."""
    page.wait_for_selector("#thread-view.is-live[data-sharp=true]")


def scale(page) -> float:
    """Return the thread view's zoom in device pixels per mm."""
    return float(page.get_attribute("#thread-view", "data-scale"))


def until(page, expression: str, timeout_s: float = 60.0) -> None:
    """Wait until an expression holds; the page's policy forbids the driver's own way."""
    end = time.monotonic() + timeout_s
    while not page.evaluate(expression):
        assert time.monotonic() < end, expression
        page.wait_for_timeout(50)
