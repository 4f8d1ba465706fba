"""The options that several commands share, and how their texts become values.

A text that is not understood raises the same error as anywhere else in Firstpiece, so that it is
told in one sentence and ends with the exit code for bad input.
"""

from __future__ import annotations

import re
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from firstpiece.errors import FirstpieceError, InputError, PictureError
from firstpiece.units import parse_length_mm

if TYPE_CHECKING:
    from collections.abc import Callable

    from firstpiece.model.material import RGB
    from firstpiece.model.region import TraceOptions


class LengthType(click.ParamType):  # type: ignore[type-arg]
    """A length with its unit, in millimetres."""

    name = "length"

    def convert(
        self,
        value: Any,
        param: click.Parameter | None,
        ctx: click.Context | None,  # noqa: ARG002
    ) -> float:
        """Return millimetres; LengthError when it is not a length."""
        return value if isinstance(value, float) else self.read(str(value), param)

    def read(
        self, text: str, param: click.Parameter | None, *, default_unit: str | None = None
    ) -> float:
        """Return millimetres; a LengthError names the option."""
        try:
            return parse_length_mm(text, default_unit=default_unit)
        except FirstpieceError as fault:
            fault.where = fault.where or _option(param)
            raise


class LengthsType(LengthType):
    """Lengths between commas; one without a unit takes the last one's (``3,5,8in``)."""

    name = "lengths"

    def convert(  # type: ignore[override]
        self,
        value: Any,
        param: click.Parameter | None,
        ctx: click.Context | None,  # noqa: ARG002
    ) -> tuple[float, ...]:
        """Return millimetres; LengthError when one is not a length."""
        if isinstance(value, tuple):
            return value
        texts = [text.strip() for text in str(value).split(",") if text.strip()]
        unit = re.search(r"[^\d\s./]+$", texts[-1]) if texts else None
        default = unit.group() if unit else None
        return tuple(self.read(text, param, default_unit=default) for text in texts)


class CountsType(click.ParamType):  # type: ignore[type-arg]
    """Whole numbers between commas."""

    name = "counts"

    def convert(
        self,
        value: Any,
        param: click.Parameter | None,
        ctx: click.Context | None,  # noqa: ARG002
    ) -> tuple[int, ...]:
        """Return the numbers; InputError when one is not whole."""
        if isinstance(value, tuple):
            return value
        texts = [text.strip() for text in str(value).split(",") if text.strip()]
        try:
            return tuple(int(text) for text in texts)
        except ValueError as fault:
            raise InputError(
                _("“{text}” is not a list of whole numbers").format(text=str(value)[:40]),
                where=_option(param),
                remedy=_("write it like 1,12,48"),
            ) from fault


class ColorType(click.ParamType):  # type: ignore[type-arg]
    """A colour as ``#rrggbb`` or by its CSS name (CSS Color Module Level 4, section 6.1)."""

    name = "color"

    def convert(
        self,
        value: Any,
        param: click.Parameter | None,
        ctx: click.Context | None,  # noqa: ARG002
    ) -> RGB:
        """Return sRGB codes; InputError when it is not a colour."""
        if isinstance(value, tuple):
            return value
        from PIL import ImageColor

        try:
            red, green, blue = ImageColor.getrgb(str(value))[:3]
        except ValueError as fault:
            raise InputError(
                _("“{text}” is not a colour").format(text=str(value)[:40]),
                where=_option(param),
                remedy=_("write it like #2f7335 or white"),
            ) from fault
        return (red, green, blue)


def picture_argument(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the PICTURE argument."""
    return click.argument("picture", type=click.Path(path_type=Path))(command)


def job_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that say what the picture is sewn on and how it is read."""
    for option in reversed(
        (
            click.option("--on", "garment", default="", metavar="CARD",
                         help="Garment card to sew on; see 'firstpiece cards garments'. "
                         "Without it the shop's own default is used."),
            click.option("--thread", default="", metavar="CARD",
                         help="Thread card; without it the garment's usual thread."),
            click.option("--colors", type=int, metavar="N",
                         help="Number of colours, 1 to 32; without it the picture decides."),
            click.option("--keep-background", is_flag=True,
                         help="Sew the paper too, instead of leaving it bare cloth."),
            click.option("--bare", type=ColorType(), multiple=True, metavar="COLOR",
                         help="Leave this colour of the art bare cloth everywhere, such as white "
                         "or #ffffff; may be given again."),
            click.option("--smooth", type=LengthType(), metavar="LENGTH",
                         help="How far an edge may move when its wobble is taken out; "
                         "0.15mm unless given."),
            click.option("--smallest", type=LengthType(), metavar="LENGTH",
                         help="Areas narrower than this everywhere go to their neighbours; "
                         "0.5mm unless given."),
        )
    ):  # fmt: skip
        command = option(command)
    return command


height_option = click.option(
    "--height",
    type=LengthType(),
    metavar="LENGTH",
    help="Height of the art's painted box: 90mm, 9cm, 3.5in, '3 1/2\"'.",
)
area_option = click.option(
    "--area",
    "areas",
    multiple=True,
    metavar="WISH",
    help="How an area is sewn, such as '3: satin, columns 0.35' or '5: fill, course along the "
    "shape'; may be given again. See the page on stitches.",
)
out_option = click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Folder for the files; it is made when missing.",
)


def trace_options(job: dict[str, Any]) -> TraceOptions:
    """Return how to read the picture, from the options of ``job_options``.

    Raises
    ------
    InputError
        When the number of colours is out of range.
    """
    from firstpiece.model.region import TraceOptions

    chosen: dict[str, Any] = {
        "n_colors": job["colors"],
        "keep_background": job["keep_background"],
        "bare_colors": job["bare"],
    }
    for name, option in (("smooth_mm", "smooth"), ("smallest_mm", "smallest")):
        if job[option] is not None:
            chosen[name] = job[option]
    try:
        return TraceOptions(**chosen)
    except ValueError as fault:
        raise InputError(str(fault), where="--colors", remedy=_("choose 1 to 32")) from fault


def read_picture(path: Path) -> bytes:
    """Return a picture's bytes.

    Raises
    ------
    PictureError
        When there is no such file, or it cannot be read.
    """
    try:
        return path.read_bytes()
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        raise PictureError(
            _("the picture cannot be opened ({reason})").format(reason=reason),
            where=str(path),
            remedy=_("give the path of a PNG, JPEG, WebP or SVG file"),
        ) from fault


def _option(param: click.Parameter | None) -> str:
    return param.opts[0] if param and param.opts else ""
