"""The real input sample: sixty drawings, each with heights that rotate through 60 to 250 mm."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from benchmarks.art_raster import find_ground, painted_box, render_svg
from benchmarks.roughen import rasterise, roughen

ROOT = Path(__file__).resolve().parent.parent
ART = ROOT / "tests" / "art"
HEIGHTS_MM = (90.0, 60.0, 120.0, 75.0, 150.0, 100.0, 200.0, 80.0, 250.0)
WIDEST_MM = 300.0
FORMS = ("svg", "jpeg", "png")


@dataclass(frozen=True)
class Design:
    """One drawing of the sample and the height it is sewn at."""

    name: str
    path: Path
    index: int

    @property
    def svg(self) -> str:
        return self.path.read_text("utf-8")

    @property
    def height_mm(self) -> float:
        """The rotating height, less for a wide drawing so that its width stays in a hoop."""
        return self.fitting_height(HEIGHTS_MM[self.index % len(HEIGHTS_MM)])

    def fitting_height(self, wanted: float) -> float:
        """Return a height [mm], less for a wide drawing so that its width stays in a hoop."""
        top, bottom, left, right = painted_box(~find_ground(render_svg(self.svg, 300))[0])
        return min(wanted, max(60.0, round(WIDEST_MM * (bottom - top) / (right - left))))

    def picture(self, form: str) -> tuple[bytes, str]:
        """Return the bytes that arrive and the name they arrive under."""
        if form == "svg":
            return self.path.read_bytes(), f"{self.name}.svg"
        if form == "png":
            return rasterise(self.svg), f"{self.name}.png"
        return roughen(self.svg, seed=self.index), f"{self.name}.jpg"


def read_sample(only: str = "") -> list[Design]:
    """Return the designs whose name holds ``only``, in the order of the manifest."""
    manifest = json.loads((ART / "MANIFEST.json").read_text("utf-8"))
    designs = [
        Design(Path(entry["file"]).stem, ART / entry["file"], index)
        for index, entry in enumerate(manifest["files"])
    ]
    return [d for d in designs if only in d.name]
