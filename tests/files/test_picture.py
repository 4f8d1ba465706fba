"""Reading pictures: what is read, turned upright, refused, and with which sentence."""

import struct
import zlib
from io import BytesIO

import numpy as np
import pytest
from PIL import Image, ImageCms

from firstpiece.errors import PictureError
from firstpiece.files.picture import read_artwork, write_png

RED, BLUE = (220, 30, 40), (20, 60, 200)


def two_halves(mode="RGB", size=(40, 20)):
    """Red on the left, blue on the right."""
    image = Image.new("RGB", size, RED)
    image.paste(BLUE, (size[0] // 2, 0, *size))
    return image.convert(mode)


def saved(image, kind, **extra):
    out = BytesIO()
    image.save(out, kind, **extra)
    return out.getvalue()


def is_near(pixel, rgb, tolerance=12):
    return np.abs(pixel[:3].astype(int) - rgb).max() <= tolerance


@pytest.mark.parametrize(
    ("kind", "extra"),
    [("PNG", {}), ("JPEG", {"quality": 95, "subsampling": 0}), ("WEBP", {"lossless": True})],
)
def test_content_decides_not_the_name(kind, extra):
    art = read_artwork(saved(two_halves(), kind, **extra), name="art.txt")
    assert (art.width, art.height) == (40.0, 20.0)
    assert art.pixels.shape == (20, 40, 4)
    assert is_near(art.pixels[10, 5], RED)
    assert is_near(art.pixels[10, 35], BLUE)
    assert (art.pixels[..., 3] == 255).all()
    assert not art.pixels.flags.writeable


@pytest.mark.parametrize("mode", ["L", "LA", "P", "1", "RGBA", "I;16", "CMYK"])
def test_other_ways_of_storing_colour(mode):
    kind = "JPEG" if mode == "CMYK" else "PNG"
    image = Image.new("L", (8, 8), 255)
    image.paste(0, (4, 0, 8, 8))
    if mode == "I;16":
        image = Image.fromarray(np.asarray(image).astype(np.uint16) * 257)
    else:
        image = image.convert(mode)
    pixels = read_artwork(saved(image, kind), name="a").pixels
    assert is_near(pixels[4, 1], (255, 255, 255), 3)
    assert is_near(pixels[4, 6], (0, 0, 0), 3)


def test_the_camera_way_up_is_applied():
    exif = Image.Exif()
    exif[274] = 6
    art = read_artwork(saved(two_halves(), "JPEG", exif=exif, quality=95), name="a")
    # 6: the stored left side is the upper side (Exif 2.3, tag 274).
    assert art.pixels.shape[:2] == (40, 20)
    assert is_near(art.pixels[5, 10], RED, 20)
    assert is_near(art.pixels[35, 10], BLUE, 20)


def test_a_colour_profile_is_brought_to_srgb():
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    plain = read_artwork(saved(two_halves(), "PNG"), name="a").pixels
    tagged = read_artwork(saved(two_halves(), "PNG", icc_profile=profile), name="a").pixels
    broken = read_artwork(saved(two_halves(), "PNG", icc_profile=b"nonsense"), name="a").pixels
    assert np.abs(plain.astype(int) - tagged).max() <= 1
    assert (plain == broken).all()


def png_chunk(kind, body):
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def png_of_size(width, height):
    """A PNG that only claims its size; decoding it would need all that memory."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    data = png_chunk(b"IDAT", zlib.compress(b"\0" * 100))
    return b"\x89PNG\r\n\x1a\n" + png_chunk(b"IHDR", head) + data + png_chunk(b"IEND", b"")


PNG = saved(two_halves(size=(200, 200)), "PNG")
BAD = {
    "empty": (b"", "is empty"),
    "text": (b"hello, this is a message", "not a picture"),
    "noise": (bytes(range(256)) * 4, "not a picture"),
    "pdf": (b"%PDF-1.7 ...", "PDF file"),
    "gif": (saved(two_halves("P"), "GIF"), "GIF file"),
    "bmp": (saved(two_halves(), "BMP"), "BMP file"),
    "cut png": (PNG[: len(PNG) // 2], "damaged or cut short"),
    "cut jpeg": (saved(two_halves(size=(200, 200)), "JPEG")[:700], "damaged or cut short"),
    "head only": (PNG[:20], "not a picture|damaged or cut short"),
    "bomb": (png_of_size(60_000, 60_000), "more than 50 million pixels"),
    "large": (png_of_size(8_000, 8_000), "more than 50 million pixels"),
    "no area": (png_of_size(0, 10), "no area|damaged|not a picture"),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_input_gets_one_clear_sentence(case):
    data, words = BAD[case]
    with pytest.raises(PictureError, match=words) as caught:
        read_artwork(data, name="from a customer.png")
    sentence = str(caught.value)
    assert sentence.startswith("from a customer.png: ")
    assert sentence.endswith(".")
    assert caught.value.remedy


@pytest.mark.parametrize("channels", [3, 4])
def test_png_written_is_the_png_read(channels):
    rng = np.random.Generator(np.random.PCG64(3))
    pixels = rng.integers(1, 256, (7, 9, channels), dtype=np.uint8)
    data = write_png(pixels, dpi=254.0)
    assert data == write_png(pixels, dpi=254.0)
    assert (read_artwork(data, name="a").pixels[..., :channels] == pixels).all()
    assert Image.open(BytesIO(data)).info["dpi"] == pytest.approx((254.0, 254.0), abs=0.1)
