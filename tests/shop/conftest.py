"""A small picture, and counting doors to the stages."""

from __future__ import annotations

from collections import Counter
from io import BytesIO

import pytest
from PIL import Image, ImageDraw

from firstpiece.shop import prepare


@pytest.fixture(scope="session")
def badge() -> bytes:
    """Return a red disc with a green bar on white paper."""
    image = Image.new("RGB", (240, 240), "white")
    pen = ImageDraw.Draw(image)
    pen.ellipse((20, 20, 220, 220), fill=(206, 40, 38))
    pen.rectangle((60, 105, 180, 135), fill=(62, 138, 58))
    out = BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


@pytest.fixture
def fresh_home(tmp_path, monkeypatch):
    """Give the test a home without any results."""
    monkeypatch.setenv("FIRSTPIECE_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def calls(monkeypatch) -> Counter:
    """Count how often each stage really runs."""
    counted: Counter = Counter()

    def count(module, function):
        real = getattr(module, function)

        def counting(*args, **kwargs):
            counted[function] += 1
            return real(*args, **kwargs)

        monkeypatch.setattr(module, function, counting)

    count(prepare.tracing, "trace_artwork")
    count(prepare.planning, "plan_stitches")
    count(prepare.forecasting, "forecast_sewout")
    count(prepare.briefing, "list_questions")
    return counted
