"""Make the README's pictures from a real run of the demo: ``python tools/readme_pictures.py``.

Runs the demo into a folder of its own, then writes small copies of what it made to docs/pictures.
"""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path

import numpy as np
from PIL import Image

from firstpiece.files.pdf import rasterise_pdf
from firstpiece.paperwork.sewout_picture import draw_sewout
from firstpiece.shop.demo import run_demo

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "docs" / "pictures"
PAPER_WIDTH_PX = 900


def save(name: str, picture: Image.Image, *, width: int) -> None:
    """Write a picture at most ``width`` pixels wide, as a JPEG of moderate size."""
    if picture.width > width:
        height = round(picture.height * width / picture.width)
        picture = picture.resize((width, height), Image.Resampling.LANCZOS)
    picture.convert("RGB").save(FOLDER / name, quality=86, optimize=True)
    sys.stdout.write(f"{FOLDER / name}\n")


def main() -> int:
    """Make all pictures."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as made:
        demo = run_demo(Path(made))
        files = {p.name: p.read_bytes() for p in demo.files}
    save("customer.jpg", Image.open(io.BytesIO(files["windfall-row.jpg"])), width=640)
    save("cleaned.jpg", Image.open(io.BytesIO(files["cleaned.png"])), width=640)
    save("sew-out.jpg", Image.open(io.BytesIO(files["sewout.png"])), width=1000)
    save("price.jpg", Image.open(io.BytesIO(files["ladder.png"])), width=PAPER_WIDTH_PX)
    save("questions.jpg", Image.open(io.BytesIO(files["questions.png"])), width=PAPER_WIDTH_PX)
    save("proof.jpg", Image.open(io.BytesIO(files["proof.png"])), width=PAPER_WIDTH_PX)
    sheet = rasterise_pdf(files["run-sheet.pdf"], dpi=150)[0]
    save("run-sheet.jpg", Image.fromarray(np.asarray(sheet)), width=PAPER_WIDTH_PX)
    prepared = demo.prepared
    close = draw_sewout(
        prepared.plan, setup=prepared.setup, pixels_per_mm=28.0, window_mm=(-46, -46, 36, 20)
    )
    save("close-up.jpg", Image.fromarray(close), width=1000)
    return 0


if __name__ == "__main__":
    sys.exit(main())
