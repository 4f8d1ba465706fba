"""Picture bytes to ``Artwork`` and pixels to PNG bytes; content decides the format, not the name.

Reads PNG, JPEG and WebP here and hands SVG to ``vector_art``. The way up stored by a camera is
applied, colours are brought to sRGB, and everything else a file says about itself is dropped.
"""

from __future__ import annotations

import warnings
from gettext import gettext as _
from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np
from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from firstpiece.errors import PictureError
from firstpiece.files.vector_art import looks_like_svg, read_svg
from firstpiece.model.artwork import Artwork

if TYPE_CHECKING:
    from numpy.typing import NDArray

FORMATS = ("PNG", "JPEG", "WEBP")
LARGEST_PICTURE_PX = 50_000_000
"""More pixels than this are refused before they are decoded."""

LARGEST_FILE_BYTES = 60_000_000

# First bytes of kinds that people send but that are not read, for a clearer sentence.
_OTHER_KINDS = (
    (b"%PDF", "PDF"),
    (b"GIF8", "GIF"),
    (b"II*\x00", "TIFF"),
    (b"MM\x00*", "TIFF"),
    (b"BM", "BMP"),
    (b"8BPS", "PSD"),
    (b"\x1f\x8b", "gzip"),
    (b"PK\x03\x04", "ZIP"),
)


def read_artwork(data: bytes, *, name: str) -> Artwork:
    """Return the picture or drawing in ``data``.

    Parameters
    ----------
    data : bytes
        A whole PNG, JPEG, WebP or SVG file.
    name : str
        A label for people, shown in errors; never opened.

    Returns
    -------
    Artwork
        Pixels (h, w, 4) uint8 sRGB and alpha, or painted shapes.

    Raises
    ------
    PictureError
        When the bytes are empty, no picture, cut short, too large, or without area.
    """
    if not data:
        raise PictureError(_("the picture is empty"), where=name, remedy=_("send it again"))
    if len(data) > LARGEST_FILE_BYTES:
        what = _("the file is larger than {n} MB").format(n=LARGEST_FILE_BYTES // 1_000_000)
        raise PictureError(what, where=name, remedy=_("send a smaller version"))
    if looks_like_svg(data):
        return read_svg(data, name=name)
    pixels = _decode(data, name)
    height, width = pixels.shape[:2]
    return Artwork(name=name, width=float(width), height=float(height), pixels=pixels)


def _decode(data: bytes, name: str) -> NDArray[np.uint8]:
    try:
        with warnings.catch_warnings():
            # Pillow warns of bombs between one and two times its own limit; ours is checked here.
            warnings.simplefilter("ignore")
            image: Image.Image = Image.open(BytesIO(data), formats=FORMATS)
            _check_size(image, name)
            image.load()
            upright = ImageOps.exif_transpose(image)
            return np.asarray(_to_srgb(upright), dtype=np.uint8)
    except PictureError:
        raise
    except Image.DecompressionBombError as fault:
        raise _too_large(name) from fault
    except UnidentifiedImageError as fault:
        raise _not_a_picture(data, name) from fault
    except (OSError, SyntaxError, ValueError, EOFError, MemoryError) as fault:
        what = _("the picture is damaged or cut short")
        raise PictureError(what, where=name, remedy=_("send it again")) from fault


def _check_size(image: Image.Image, name: str) -> None:
    width, height = image.size
    if width < 1 or height < 1:
        what = _("the picture has no area")
        raise PictureError(what, where=name, remedy=_("send it again"))
    if width * height > LARGEST_PICTURE_PX:
        raise _too_large(name)


def _too_large(name: str) -> PictureError:
    what = _("the picture has more than {n} million pixels").format(
        n=LARGEST_PICTURE_PX // 1_000_000
    )
    return PictureError(what, where=name, remedy=_("send a version at most 4000 pixels wide"))


def _not_a_picture(data: bytes, name: str) -> PictureError:
    remedy = _("send a PNG, JPEG, WebP or SVG")
    for mark, kind in _OTHER_KINDS:
        if data.startswith(mark):
            what = _("this is a {kind} file, which is not read here").format(kind=kind)
            return PictureError(what, where=name, remedy=remedy)
    return PictureError(_("this is not a picture"), where=name, remedy=remedy)


def _to_srgb(image: Image.Image) -> Image.Image:
    """Return an 8-bit RGBA image in sRGB; a colour profile that cannot be used is ignored."""
    if image.mode[0] in "IF":
        # 16-bit grey: Pillow's own conversion clips instead of scaling.
        grey = np.asarray(image, dtype=np.float64)
        top = 65535.0 if image.mode != "F" else max(float(np.nanmax(grey)), 1e-9)
        image = Image.fromarray((np.clip(grey / top, 0, 1) * 255).round().astype(np.uint8))
    profile = image.info.get("icc_profile")
    if profile and image.mode in ("RGB", "CMYK"):
        try:
            source = ImageCms.ImageCmsProfile(BytesIO(profile))
            target = ImageCms.createProfile("sRGB")
            converted = ImageCms.profileToProfile(image, source, target, outputMode="RGB")
        except (ImageCms.PyCMSError, OSError, ValueError):
            converted = None
        image = converted or image
    return image.convert("RGBA")


def write_png(pixels: NDArray[np.uint8], *, dpi: float | None = None) -> bytes:
    """Return PNG bytes, always the same for the same pixels.

    Parameters
    ----------
    pixels : (h, w, 3) or (h, w, 4) uint8
        sRGB, with alpha when there are four channels.
    dpi : float or None
        Written into the file so that it prints at true size.
    """
    out = BytesIO()
    extra: dict[str, Any] = {} if dpi is None else {"dpi": (dpi, dpi)}
    Image.fromarray(np.ascontiguousarray(pixels)).save(out, "PNG", **extra)
    return out.getvalue()
