"""``firstpiece letter``: a line of text, sewn; all that ``prepare`` gives for a picture."""

from __future__ import annotations

from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json, progress_bar
from firstpiece.cli.options import LengthType, out_option
from firstpiece.errors import InputError, LengthError

if TYPE_CHECKING:
    from firstpiece.shop.letter import LetterRequest
    from firstpiece.shop.prepare import Prepared

    Heights = tuple[tuple[str, float], ...]


@click.command(short_help="Set a line of text and prepare it like a picture.")
@click.argument("text")
@click.option(
    "--caps",
    type=LengthType(),
    metavar="LENGTH",
    help="Height of the capitals, 4mm to 100mm: 12mm, for one.",
)
@click.option(
    "--font",
    default="",
    metavar="NAME|FILE",
    help="A shipped font or a font file; Noto Sans Bold unless given.",
)
@click.option(
    "--arc",
    type=LengthType(),
    metavar="LENGTH",
    help="Radius of the arc the letters stand on; a straight line unless given.",
)
@click.option(
    "--inside", is_flag=True, help="Heads point to the arc's centre, along a badge's foot."
)
@click.option("--around", is_flag=True, help="Spread over the whole circle.")
@click.option(
    "--spacing",
    type=LengthType(),
    metavar="LENGTH",
    help="Added between letters; they are opened far enough to stay apart in any case.",
)
@click.option(
    "--color",
    default="",
    metavar="NAME",
    help="Thread by its name on the rack; the one that stands out most unless given.",
)
@click.option("--on", "garment", default="", metavar="CARD", help="Garment card to sew on.")
@click.option(
    "--thread", default="", metavar="CARD", help="Thread card; the garment's usual unless given."
)
@click.option(
    "--quantity", type=int, default=1, metavar="N", help="Pieces to quote; 1 unless given."
)
@out_option
@json_option
def letter(*, text: str, out: Path | None, as_json: bool, **wishes: Any) -> int:
    """Set TEXT in a font, plan its stitches, forecast the sew-out and price it.

    The same letter is sewn the same way wherever it stands. Also tells the smallest height of
    capitals that each thread can sew.
    """
    prepared, files, heights = _letter(text, out, wishes)
    if as_json:
        from firstpiece.shop.job_objects import job_object

        answer = job_object(prepared, files)
        smallest = [{"thread": name, "cap_height_mm": round(mm, 2)} for name, mm in heights]
        print_json("lettering", {**answer, "smallest": smallest})
    else:
        _print(prepared, out, files, heights)
    return 1 if prepared.blocks_sewing else 0


def request_of_text(text: str, wishes: dict[str, Any]) -> LetterRequest:
    """Return what the options ask for.

    Raises
    ------
    LengthError, InputError
    """
    from firstpiece.shop.letter import DEFAULT_FONT, LetterRequest

    if wishes["caps"] is None:
        raise LengthError(
            _("the height of the capitals is missing"),
            where="--caps",
            remedy=_("add --caps 12mm, for one"),
        )
    font = wishes["font"] or DEFAULT_FONT
    return LetterRequest(
        text,
        wishes["caps"],
        font=font,
        font_data=_font_file(font),
        radius_mm=wishes["arc"],
        is_inside=wishes["inside"],
        is_whole=wishes["around"],
        spacing_mm=wishes["spacing"] or 0.0,
        color=wishes["color"],
        garment=wishes["garment"],
        thread=wishes["thread"],
        quantity=wishes["quantity"],
    )


def _font_file(font: str) -> bytes | None:
    path = Path(font)
    if not path.suffix:
        return None
    try:
        return path.read_bytes()
    except OSError as fault:
        raise InputError(
            _("the font file cannot be opened ({reason})").format(
                reason=(fault.strerror or str(fault)).lower()
            ),
            where=font,
            remedy=_("give the path of an OpenType or TrueType file"),
        ) from fault


def _letter(
    text: str, out: Path | None, wishes: dict[str, Any]
) -> tuple[Prepared, tuple[Path, ...], Heights]:
    request = request_of_text(text, wishes)
    from firstpiece.files.safe_write import check_writable
    from firstpiece.shop.cards import open_cards
    from firstpiece.shop.letter import letter_text, set_line, smallest_heights
    from firstpiece.shop.outputs import write_outputs

    if out is not None:
        check_writable(out)
    with progress_bar() as report:
        prepared = letter_text(request, report=report)
        files = () if out is None else write_outputs(prepared, out, report=report)
    line = set_line(request, prepared.setup)
    return prepared, files, smallest_heights(line, prepared.setup, open_cards())


def _print(prepared: Prepared, out: Path | None, files: tuple[Path, ...], heights: Heights) -> None:
    from firstpiece.cli.job_text import print_files, print_job

    console = open_console()
    print_job(console, prepared)
    for name, mm in heights:
        console.print(_("Smallest capitals in {thread}: {mm:.1f} mm").format(thread=name, mm=mm))
    if out is not None:
        print_files(console, out, files)
