"""The sew-out picture: true colours at any zoom, light from one side, the same pixels again.

Colour differences are CIEDE2000 by scikit-image, an implementation that is not ours; sRGB after
IEC 61966-2-1.
"""

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000, rgb2lab
from tests.paperwork.jobs import empty_plan, plan_of, rows, turned

from firstpiece.errors import InputError
from firstpiece.files.material_card import CardDrawer
from firstpiece.paperwork.sewout_picture import draw_sewout, plan_window_mm

CARDS = CardDrawer()
RACK = {c.name: c for c in CARDS.thread("poly-40").colors}
# Light, dark, saturated and neutral threads of the shipped rack.
SHOWN = [
    "chalk white",
    "sunflower",
    "poppy",
    "leaf green",
    "royal",
    "navy",
    "bark",
    "black",
    "silver",
]
GARMENTS = ["apron-natural", "apron-forest", "tee-white", "tee-black", "tee-heather", "polo-navy",
    "towel-white", "sweat-moss", "mat-canvas"]  # fmt: skip


def solid_fill(name, angle, side=15.0):
    thread = RACK[name]
    under = turned(rows(side, side, spacing=2.4), angle + np.pi / 2)
    return plan_of((under, 0), (turned(rows(side, side), angle), 0), threads=(thread,))


def mean_color(pixels):
    """Mean in linear light, as the eye averages from afar; sRGB 0 to 1."""
    v = pixels.reshape(-1, 3) / 255.0
    linear = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4).mean(axis=0)
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)


def difference(mean, rgb):
    pair = [rgb2lab(np.asarray(c)[None, None]) for c in (mean, np.array(rgb) / 255.0)]
    return float(deltaE_ciede2000(*pair)[0, 0])


@pytest.mark.parametrize("name", SHOWN)
def test_a_solid_fill_has_its_threads_colour(name):
    """Area mean within CIEDE2000 6 of the thread in every direction, within 4 over directions."""
    setup = CARDS.setup("apron-natural")
    found = []
    for angle in np.radians(np.arange(0, 180, 30)):
        pixels = draw_sewout(
            solid_fill(name, angle), setup=setup, pixels_per_mm=10, window_mm=(-4, -4, 8, 8)
        )
        found.append(difference(mean_color(pixels), RACK[name].rgb))
    assert max(found) < 6.0
    assert np.mean(found) < 4.0


@pytest.mark.parametrize("zoom", [2, 5, 20, 40])
def test_colour_is_true_at_every_zoom(zoom):
    setup = CARDS.setup("apron-natural")
    pixels = draw_sewout(
        solid_fill("royal", 0.4), setup=setup, pixels_per_mm=zoom, window_mm=(-4, -4, 8, 8)
    )
    assert pixels.shape == (8 * zoom, 8 * zoom, 3)
    assert difference(mean_color(pixels), RACK["royal"].rgb) < 6.0


@pytest.mark.parametrize("garment", GARMENTS)
def test_cloth_has_the_garments_colour(garment):
    setup = CARDS.setup(garment)
    pixels = draw_sewout(
        empty_plan(), setup=setup, pixels_per_mm=10, window_mm=(0.0, 0.0, 15.0, 15.0)
    )
    assert difference(mean_color(pixels), setup.garment.rgb) < 2.5
    assert pixels.astype(float).std(axis=(0, 1)).max() > 0.8


def test_stitches_across_the_light_shine():
    """Light falls from the upper left: rows at right angles to it are the brighter ones."""
    setup = CARDS.setup("apron-natural")

    def brightness(angle):
        pixels = draw_sewout(
            solid_fill("leaf green", angle), setup=setup, pixels_per_mm=10, window_mm=(-4, -4, 8, 8)
        )
        return mean_color(pixels).mean()

    along_light, across_light = brightness(np.radians(135)), brightness(np.radians(45))
    assert across_light > 1.08 * along_light


def test_shadow_falls_to_the_lower_right():
    """Beside a sewn square, against the bare cloth of the same place so that yarns cancel."""
    setup = CARDS.setup("tee-white")
    window = (-6, -6, 12, 12)
    plan = plan_of((rows(8.0, 8.0), 0), threads=(RACK["black"],))
    sewn = draw_sewout(plan, setup=setup, pixels_per_mm=20, window_mm=window)
    bare = draw_sewout(empty_plan(), setup=setup, pixels_per_mm=20, window_mm=window)
    share = sewn.astype(float).mean(axis=2) / bare.astype(float).mean(axis=2)
    # The outermost thread ends 4.10 mm from the middle, across the rows 4.0 mm.
    right, left = share[90:150, 203:209].mean(), share[90:150, 31:37].mean()
    below, above = share[201:207, 90:150].mean(), share[33:39, 90:150].mean()
    assert right < left - 0.02
    assert below < above - 0.02


def test_threads_are_told_apart_close_up():
    """Across the rows of a solid fill the light rises and falls once a row (0.38 mm)."""
    setup = CARDS.setup("apron-natural")
    pixels = draw_sewout(
        solid_fill("silver", 0.0), setup=setup, pixels_per_mm=40, window_mm=(-4, -3.8, 8, 7.6)
    )
    profile = pixels.astype(float).mean(axis=(1, 2))
    power = np.abs(np.fft.rfft(profile - profile.mean())) ** 2
    rows_in_window = 7.6 / 0.38
    assert abs(int(power[5:].argmax()) + 5 - rows_in_window) <= 1


def test_same_plan_same_pixels_and_any_window_agrees():
    setup = CARDS.setup("tee-heather")
    plan = solid_fill("poppy", 0.7)
    whole = draw_sewout(plan, setup=setup, pixels_per_mm=10, window_mm=(-10, -10, 20, 20))
    again = draw_sewout(plan, setup=setup, pixels_per_mm=10, window_mm=(-10, -10, 20, 20))
    assert np.array_equal(whole, again)
    part = draw_sewout(plan, setup=setup, pixels_per_mm=10, window_mm=(-2, -3, 6, 5))
    seen = whole[80:130, 80:140].astype(int)
    assert np.mean(np.abs(seen - part).max(axis=2) <= 2) > 0.995


def test_margin_and_size():
    plan = plan_of((rows(10.0, 6.0), 0), threads=(RACK["poppy"],))
    assert plan_window_mm(plan, margin_mm=3.0)[2] == pytest.approx(16.0)
    setup = CARDS.setup("apron-natural")
    pixels = draw_sewout(plan, setup=setup, pixels_per_mm=5, margin_mm=3.0)
    assert pixels.dtype == np.uint8
    assert pixels.shape[1] == 80


def test_empty_plan_and_stitches_on_one_spot_are_drawn():
    setup = CARDS.setup("apron-natural")
    assert draw_sewout(empty_plan(), setup=setup, pixels_per_mm=4).shape == (64, 64, 3)
    spot = plan_of((np.zeros((5, 2)), 0), threads=(RACK["poppy"],))
    assert draw_sewout(spot, setup=setup, pixels_per_mm=4).shape == (64, 64, 3)


@pytest.mark.parametrize(
    ("zoom", "window"),
    [
        (0.0, None),
        (-3.0, None),
        (float("nan"), None),
        (10.0, (0, 0, 0, 5)),
        (40.0, (0, 0, 900, 900)),
    ],
)
def test_impossible_pictures_are_refused(zoom, window):
    setup = CARDS.setup("apron-natural")
    with pytest.raises(InputError) as told:
        draw_sewout(solid_fill("poppy", 0.0), setup=setup, pixels_per_mm=zoom, window_mm=window)
    assert told.value.remedy
