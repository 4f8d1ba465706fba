"""What arrives keeps its pixels to the bit and loses where, when and by whom it was taken.

The pictures with metadata are made by Pillow and read back by Pillow: another hand than ours.
"""

from __future__ import annotations

import contextlib
from io import BytesIO

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageOps
from PIL.ExifTags import GPS, IFD, Base
from PIL.PngImagePlugin import PngInfo

from firstpiece.errors import PictureError
from firstpiece.files.picture_strip import strip_picture

PLACE = b"Windfall Lane orchard gate"
FORMATS = ("JPEG", "PNG", "WEBP")


def picture() -> Image.Image:
    noise = np.random.default_rng(4).integers(0, 255, (40, 64, 3)).astype(np.uint8)
    return Image.fromarray(noise)


def exif_with_place(orientation: int = 1) -> Image.Exif:
    exif = Image.Exif()
    exif[Base.Orientation] = orientation
    exif[Base.ImageDescription] = PLACE.decode()
    exif[Base.Artist] = PLACE.decode()
    gps = exif.get_ifd(IFD.GPSInfo)
    gps[GPS.GPSLatitudeRef] = "N"
    gps[GPS.GPSLatitude] = (51.0, 28.0, 38.0)
    gps[GPS.GPSLongitudeRef] = "W"
    gps[GPS.GPSLongitude] = (0.0, 0.0, 5.0)
    return exif


def with_place(form: str, *, orientation: int = 1, **options) -> bytes:
    out = BytesIO()
    picture().save(out, form, exif=exif_with_place(orientation), **options)
    return out.getvalue()


def opened(data: bytes) -> Image.Image:
    return Image.open(BytesIO(data))


@pytest.mark.parametrize("orientation", [1, 6, 8])
@pytest.mark.parametrize("form", FORMATS)
def test_the_place_goes_and_every_pixel_stays(form, orientation):
    before = with_place(form, orientation=orientation, **{"quality": 88} if form != "PNG" else {})
    assert PLACE in before
    assert opened(before).getexif().get_ifd(IFD.GPSInfo)

    after = strip_picture(before)
    assert PLACE not in after
    exif = opened(after).getexif()
    assert not exif.get_ifd(IFD.GPSInfo)
    assert set(exif) <= {Base.Orientation}
    upright = [np.asarray(ImageOps.exif_transpose(opened(d))) for d in (before, after)]
    assert np.array_equal(*upright)
    assert strip_picture(after) == after


@pytest.mark.parametrize("form", FORMATS)
def test_a_colour_profile_stays(form):
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    after = strip_picture(with_place(form, icc_profile=profile))
    assert opened(after).info["icc_profile"] == profile


@pytest.mark.parametrize(
    "options", [{"progressive": True}, {"subsampling": 0}, {"restart_marker_blocks": 1}]
)
def test_every_kind_of_jpeg_is_walked(options):
    before = with_place("JPEG", quality=70, **options)
    after = strip_picture(before)
    assert np.array_equal(np.asarray(opened(before)), np.asarray(opened(after)))


def test_comments_and_what_follows_the_end_go():
    # A phone may hang a short film, with its own place, behind the picture.
    before = with_place("JPEG", comment=PLACE) + b"\0\0\0\x18ftypmp42" + PLACE
    assert strip_picture(before).count(PLACE) == 0
    note = PngInfo()
    note.add_text("Comment", PLACE.decode())
    note.add_itxt("XML:x", PLACE.decode())
    assert PLACE not in strip_picture(with_place("PNG", pnginfo=note) + PLACE)
    assert PLACE not in strip_picture(with_place("WEBP", xmp=PLACE) + PLACE)


def test_a_drawing_loses_its_metadata_and_comments_and_nothing_else():
    place = PLACE.decode()
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:x="urn:x"><!-- {place} -->'
        f"<metadata id='m'><x:place>{place}</x:place></metadata><metadata/>"
        "<path d='M0 0h9v9z'/>ä</svg>"
    )
    kept = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:x="urn:x"><path d=\'M0 0h9v9z\'/>ä</svg>'
    assert strip_picture(svg.encode()) == kept.encode()


@given(st.sampled_from(FORMATS), st.integers(0, 10_000))
def test_a_picture_cut_anywhere_is_refused_or_read(form, at):
    """Never anything but the one fault a person can mend."""
    data = with_place(form)
    with contextlib.suppress(PictureError):
        strip_picture(data[: at % len(data)])


@pytest.mark.parametrize(
    "data", [b"", b"letter", b"\xff\xd8", b"\xff\xd8\xff", b"RIFF\0\0\0\0WEBP", b"%PDF-1.7"]
)
def test_what_is_no_picture_is_refused(data):
    with pytest.raises(PictureError):
        strip_picture(data, name="letter.txt")
