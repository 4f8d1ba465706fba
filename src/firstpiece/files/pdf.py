"""Drawn pages to PDF bytes, and PDF bytes to pixels.

Pages are written in their millimetres with embedded fonts and no time stamp, so that the same pages
are the same bytes and 100 mm on the page is 100 mm on paper.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np
import pypdfium2
from PIL import Image
from reportlab import rl_config
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from firstpiece.errors import PictureError
from firstpiece.files.fonts import read_font_metrics, register_fonts
from firstpiece.files.shaped_text import shape_line
from firstpiece.model.page import ImageItem, LineItem, Page, ShapeItem, TextItem
from firstpiece.model.text_direction import has_right_to_left
from firstpiece.units import MM_PER_INCH, POINTS_PER_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.model.material import RGB

# Pictures as plain bytes: written as text they are a quarter larger and slow to make.
rl_config.useA85 = 0

# Photographs above this many pixels are stored as JPEG; smaller pictures stay exact.
LARGEST_EXACT_PIXELS = 60_000
JPEG_QUALITY = 90


def write_pdf(pages: Sequence[Page]) -> bytes:
    """Return the pages as one PDF file.

    Parameters
    ----------
    pages : sequence of Page
        At least one; the first one's title becomes the file's title.

    Returns
    -------
    bytes
        The same bytes for the same pages.

    Raises
    ------
    ValueError
        When there is no page.
    """
    if not pages:
        msg = "a PDF needs at least one page"
        raise ValueError(msg)
    target = BytesIO()
    # Without a first font of our own the writer would name one that it does not embed.
    first_font = register_fonts()["regular"]
    canvas = Canvas(target, invariant=1, pageCompression=1, initialFontName=first_font)
    canvas.setTitle(pages[0].title)
    canvas.setCreator("Firstpiece")
    for page in pages:
        size = (page.width_mm * POINTS_PER_MM, page.height_mm * POINTS_PER_MM)
        canvas.setPageSize(size)
        canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
        for item in page.items:
            _draw_item(canvas, item)
        canvas.showPage()
    canvas.save()
    return target.getvalue()


def rasterise_pdf(
    data: bytes, *, dpi: float, paper: RGB = (255, 255, 255)
) -> list[NDArray[np.uint8]]:
    """Return every page of a PDF as pixels.

    Parameters
    ----------
    data : bytes
    dpi : float [1/in]
    paper : tuple of int
        sRGB colour of the empty sheet.

    Returns
    -------
    list of (h, w, 3) uint8 [sRGB]

    Raises
    ------
    PictureError
        When the bytes are not a PDF that can be read.
    """
    try:
        document = pypdfium2.PdfDocument(data)
    except pypdfium2.PdfiumError as fault:
        msg = "the file is not a PDF that can be read"
        raise PictureError(msg, remedy="export it again or send a PNG") from fault
    try:
        return [
            np.array(page.render(scale=dpi / 72, fill_color=(*paper, 255)).to_pil().convert("RGB"))
            for page in document
        ]
    finally:
        document.close()


def page_size_px(page: Page, dpi: float) -> tuple[int, int]:
    """Return the width and height of a page in pixels."""
    return round(page.width_mm / MM_PER_INCH * dpi), round(page.height_mm / MM_PER_INCH * dpi)


def _draw_item(canvas: Any, item: object) -> None:
    if isinstance(item, TextItem):
        _draw_text(canvas, item)
    elif isinstance(item, LineItem):
        canvas.setLineWidth(item.width_mm)
        canvas.setStrokeColorRGB(*_unit_rgb(item.rgb))
        canvas.line(item.x0_mm, item.y0_mm, item.x1_mm, item.y1_mm)
    elif isinstance(item, ShapeItem):
        _draw_shape(canvas, item)
    elif isinstance(item, ImageItem):
        reader = _image_reader(item.pixels)
        box = (item.x_mm, item.y_mm, item.width_mm, item.height_mm)
        canvas.drawImage(reader, *box, mask="auto")
    else:
        msg = f"{type(item).__name__} cannot be drawn on a page"
        raise TypeError(msg)


def _draw_text(canvas: Any, item: TextItem) -> None:
    text = read_font_metrics().printable(item.text)
    if has_right_to_left(text):
        _draw_shaped(canvas, item, text)
        return
    canvas.setFont(register_fonts()[item.weight], item.size_pt / POINTS_PER_MM)
    canvas.setFillColorRGB(*_unit_rgb(item.rgb))
    draw = {
        "left": canvas.drawString,
        "centre": canvas.drawCentredString,
        "right": canvas.drawRightString,
    }[item.align]
    draw(item.x_mm, item.y_mm, text)


def _draw_shaped(canvas: Any, item: TextItem, text: str) -> None:
    """Draw a line that holds right-to-left letters as outlines, so that any viewer shows it."""
    line = shape_line(text, item.weight)
    size = item.size_pt / POINTS_PER_MM
    x = item.x_mm - {"left": 0.0, "centre": 0.5, "right": 1.0}[item.align] * line.width_em * size
    path = canvas.beginPath()
    draw = {"moveTo": path.moveTo, "lineTo": path.lineTo, "curveTo": path.curveTo}
    for name, points in line.steps:
        if name in draw:
            draw[name](*(v for px, py in points for v in (x + px * size, item.y_mm + py * size)))
        else:
            path.close()
    canvas.setFillColorRGB(*_unit_rgb(item.rgb))
    # Letters may overlap where they join: the winding rule keeps the joints filled.
    canvas.drawPath(path, stroke=0, fill=1, fillMode=1)


def _draw_shape(canvas: Any, item: ShapeItem) -> None:
    path = canvas.beginPath()
    for ring in item.rings:
        if len(ring) < 2:
            continue
        path.moveTo(*ring[0])
        for x, y in ring[1:]:
            path.lineTo(x, y)
        if item.closed:
            path.close()
    if item.fill is not None:
        canvas.setFillColorRGB(*_unit_rgb(item.fill))
    if item.stroke is not None:
        canvas.setStrokeColorRGB(*_unit_rgb(item.stroke))
        canvas.setLineWidth(item.stroke_mm)
    canvas.setLineJoin(1)
    canvas.drawPath(path, stroke=int(item.stroke is not None), fill=int(item.fill is not None),
        fillMode=0)  # fmt: skip


def _image_reader(pixels: NDArray[np.uint8]) -> ImageReader:
    """Return the picture for embedding: exact when small or see-through, JPEG when large."""
    image = Image.fromarray(pixels)
    exact = pixels.shape[2] == 4 or pixels.shape[0] * pixels.shape[1] <= LARGEST_EXACT_PIXELS
    if exact:
        return ImageReader(image)
    packed = BytesIO()
    image.save(packed, "JPEG", quality=JPEG_QUALITY, subsampling=0)
    packed.seek(0)
    return ImageReader(packed)


def _unit_rgb(rgb: RGB) -> tuple[float, float, float]:
    return rgb[0] / 255, rgb[1] / 255, rgb[2] / 255
