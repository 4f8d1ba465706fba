"""Small flat pictures drawn for the tests of the local page."""

from __future__ import annotations

from io import BytesIO

from PIL import Image, ImageDraw


def pear_png(size_px: int = 240) -> bytes:
    """A pear with a leaf: two filled areas on white paper."""
    picture = Image.new("RGB", (size_px, size_px), (255, 255, 255))
    pen = ImageDraw.Draw(picture)
    u = size_px / 24
    pen.ellipse((5 * u, 9 * u, 19 * u, 23 * u), fill=(206, 170, 40))
    pen.ellipse((8 * u, 4 * u, 16 * u, 14 * u), fill=(206, 170, 40))
    pen.ellipse((13 * u, 1 * u, 20 * u, 5 * u), fill=(47, 115, 53))
    out = BytesIO()
    picture.save(out, "PNG")
    return out.getvalue()


PEAR_SVG = (
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 60">'
    b'<circle cx="30" cy="36" r="20" fill="#ceaa28"/>'
    b'<circle cx="30" cy="14" r="9" fill="#2f7335"/></svg>'
)

NOTHING_SVG = b'<svg xmlns="http://www.w3.org/2000/svg"></svg>'
"""A drawing of nothing: kept as a picture, and refused by the worker as soon as it reads it."""
