"""``firstpiece read``: a design the shop already has as stitches, forecast and priced."""

from __future__ import annotations

from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json
from firstpiece.cli.motion_options import motion_words, word_options
from firstpiece.cli.options import out_option

if TYPE_CHECKING:
    from firstpiece.shop.reading_back import ReadBack, StitchFile


@click.command(short_help="Read a design that is stitches already: forecast, price, papers.")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--as", "kind", default="", metavar="KIND",
              help="csv, motion, or records:LAYOUT.toml; found out when it can be.")  # fmt: skip
@click.option("--on", "garment", default="", metavar="CARD",
              help="Garment card to sew on; the shop's own default unless given.")  # fmt: skip
@click.option("--quantity", type=int, default=1, metavar="N",
              help="Pieces to quote; 1 unless given.")  # fmt: skip
@word_options
@out_option
@json_option
def read(
    *,
    file: Path,
    kind: str,
    garment: str,
    quantity: int,
    out: Path | None,
    as_json: bool,
    **words: Any,
) -> int:
    """Read FILE, guess its areas, forecast the sew-out and price it.

    FILE is a stitch list (with threads.json beside it), a motion program, or records that a layout
    describes. With --out the files of a job are written, as prepare does.
    """
    from firstpiece.files.safe_write import check_writable, write_together
    from firstpiece.shop.read_back_files import make_read_back_files
    from firstpiece.shop.reading_back import read_back

    if out is not None:
        check_writable(out)
    done = read_back(_stitch_file(file, kind, words), garment=garment, quantity=quantity)
    paths = () if out is None else write_together(out, make_read_back_files(done))
    if as_json:
        from firstpiece.shop.read_back_files import read_back_object

        print_json("design", read_back_object(done, paths))
    else:
        _print_design(done)
        for path in paths:
            click.echo(str(path))
    return 1 if done.forecast.blocks_sewing else 0


def _stitch_file(file: Path, kind: str, words: dict[str, Any]) -> StitchFile:
    from firstpiece.errors import InputError
    from firstpiece.shop.export import RECORDS, read_layout_text
    from firstpiece.shop.reading_back import FORMATS, StitchFile

    layout = ""
    if kind.startswith(RECORDS):
        layout, kind = read_layout_text(Path(kind.removeprefix(RECORDS))), "records"
    elif kind and kind not in FORMATS[:2]:
        raise InputError(
            _("“{kind}” is not a way in").format(kind=kind[:40]),
            where="--as",
            remedy=_("use csv, motion or records:LAYOUT.toml"),
        )
    try:
        data = file.read_bytes()
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        raise InputError(
            _("the file cannot be opened ({reason})").format(reason=reason),
            where=str(file),
            remedy=_("give the path of a design"),
        ) from fault
    return StitchFile(data, file.name, kind, _threads_beside(file), layout, motion_words(words))


def _threads_beside(file: Path) -> str:
    """Return the text of the threads beside a stitch list, or nothing."""
    for name in (file.name.replace("stitches.csv", "threads.json"), "threads.json"):
        path = file.with_name(name)
        if name != file.name and path.is_file():
            return path.read_text("utf-8", "replace")
    return ""


def _print_design(done: ReadBack) -> None:
    from firstpiece.cli.job_text import print_findings
    from firstpiece.cli.sentences import count_text, minutes_text, price_text, size_text
    from firstpiece.model.finding import rank_findings

    kinds: dict[str, int] = {}
    for treatment in done.plan.treatments:
        kinds[str(treatment.stitch_type)] = kinds.get(str(treatment.stitch_type), 0) + 1
    areas = ", ".join(f"{n} {kind}" for kind, n in sorted(kinds.items()))
    for label, value in (
        (_("Size"), size_text(done.size_mm)),
        (_("Stitches"), count_text(done.plan.n_stitches)),
        (_("Threads"), ", ".join(t.name for t in done.plan.threads)),
        (_("Areas, guessed"), areas),
        (_("Sewing"), minutes_text(done.forecast.sewing_minutes)),
        (_("Price"), price_text(done.quote)),
    ):
        click.echo(f"{label:<16}{value}")
    print_findings(open_console(), rank_findings(done.forecast.findings))
