"""A prepared job set for reading on a terminal: figures, threads, findings with remedies, files.

Everything is laid out in two columns with hairlines at most, so that it reads the same in a log.
"""

from __future__ import annotations

from gettext import gettext as _
from gettext import ngettext
from typing import TYPE_CHECKING

from firstpiece.cli.sentences import (
    SEVERITY_WORDS,
    band_text,
    count_text,
    findings_headline,
    metres_text,
    minutes_text,
    money_text,
    price_text,
    size_text,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from rich.console import Console, RenderableType

    from firstpiece.model.finding import Finding
    from firstpiece.shop.ladder import Ladder, Rung
    from firstpiece.shop.prepare import Prepared
    from firstpiece.shop.true_shape import ShapeAim

MOST_REMEDIES = 2

FILE_WORDS = {
    "cleaned.png": _("the cleaned design"),
    "sewout.png": _("the sew-out drawn as thread on the cloth"),
    "proof.png": _("the proof, for a message"),
    "proof.pdf": _("the proof at true size, to print"),
    "run-sheet.pdf": _("the run sheet for the machine"),
    "stitches.csv": _("every movement of the needle"),
    "threads.json": _("the threads, in sewing order"),
    "regions.svg": _("the areas, in millimetres"),
    "areas.png": _("the areas with their numbers, to edit by"),
    "design.json": _("what was asked, with the edits"),
    "picture.png": _("the picture as it was read"),
    "picture.jpg": _("the picture as it was read"),
    "picture.webp": _("the picture as it was read"),
    "picture.svg": _("the picture as it was read"),
    "plan.json": _("each area's treatment and its reason"),
    "forecast.json": _("the forecast with its bands"),
    "quote.json": _("the price, line by line"),
    "ladder.png": _("price against height"),
    "ladder.json": _("the price table"),
    "questions.png": _("the lettered picture"),
    "questions.txt": _("the message to send"),
    "windfall-row.jpg": _("the picture as it arrived"),
}


def print_job(console: Console, prepared: Prepared) -> None:
    """Print what the job is, what it takes, and what to look at before sewing."""
    console.print()
    title = f"{prepared.artwork.name} · {prepared.setup.garment.label}"
    console.print(title, style="bold", markup=False)
    _print_table(console, _pairs(job_figures(prepared)))
    if prepared.aim is not None:
        console.print(_plain(aim_text(prepared.aim)))
    print_findings(console, prepared.findings)


def aim_text(aim: ShapeAim) -> str:
    """Return how far settled edges lie from the drawing, with the set-out and without."""
    if len(aim.missed_mm) < 2:
        return _("  The cloth gives way too far for outlines to be set out: it needs backing.")
    (mean, most), (new_mean, new_most) = aim.missed_mm[0], aim.missed_mm[-1]
    words = _(
        "  Outlines set out: settled edges lie {new} mm from the drawing (95 %: {new_most}), with "
        "the card's one number {old} mm ({old_most}); by the model, not known without a sewn "
        "swatch."
    )
    return words.format(
        new=f"{new_mean:.2f}",
        new_most=f"{new_most:.2f}",
        old=f"{mean:.2f}",
        old_most=f"{most:.2f}",
    )


def job_figures(prepared: Prepared) -> list[tuple[str, str]]:
    """Return the figures that matter, each with its name."""
    forecast, quote = prepared.forecast, prepared.quote
    hoop = prepared.hoop
    threads = ", ".join(thread.name for thread in prepared.plan.threads)
    basis = {
        "default": _("from the shipped cards"),
        "calibrated": _("from this shop's cards"),
        "computed": _("computed"),
    }[str(forecast.sewing_minutes.certainty)]
    cones = sum(use.top_m.band.p50 for use in forecast.thread_use)
    return [
        (_("Size"), size_text(prepared.size_mm)),
        (_("Hoop"), hoop.label if hoop else _("none clears this size")),
        (
            _("Stitches"),
            _("{n}, {trims} trims, {changes} thread changes").format(
                n=count_text(forecast.n_stitches),
                trims=forecast.n_trims,
                changes=forecast.n_color_changes,
            ),
        ),
        (
            _("Sewing"),
            _("{minutes} a piece, {basis}").format(
                minutes=minutes_text(forecast.sewing_minutes), basis=basis
            ),
        ),
        (
            _("Thread"),
            _("{top:.1f} m on top, {bobbin} on the bobbin").format(
                top=cones, bobbin=metres_text(forecast.bobbin_m)
            ),
        ),
        (_("Threads"), threads),
        (_("Price"), price_text(quote)),
    ]


def print_findings(console: Console, findings: tuple[Finding, ...], *, most: int = 8) -> None:
    """Print findings worst first, each with its pin, its reason and what may be done."""
    from rich.table import Table

    console.print()
    console.print(findings_headline(findings), style="bold", markup=False)
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(justify="right", min_width=3)
    table.add_column(no_wrap=True)
    table.add_column()
    for pin, finding in enumerate(findings[:most], start=1):
        table.add_row(str(pin), _(SEVERITY_WORDS[finding.severity.name]), _plain(finding.reason))
        for remedy in finding.remedies[:MOST_REMEDIES]:
            table.add_row("", "", _plain(f"→ {remedy.label}"))
        n_more = len(finding.remedies) - MOST_REMEDIES
        if n_more > 0:
            more = ngettext("or {n} other way", "or {n} other ways", n_more).format(n=n_more)
            table.add_row("", "", _plain(f"  {more}"))
    _print_table(console, table)
    if len(findings) > most:
        more = _("  and {n} more, in forecast.json").format(n=len(findings) - most)
        console.print(more, markup=False)


def print_files(console: Console, folder: Path, files: Sequence[Path]) -> None:
    """Print what was written and what each file is for."""
    console.print()
    console.print(_("Written to {folder}").format(folder=folder), style="bold", markup=False)
    order = {name: i for i, name in enumerate(FILE_WORDS)}
    names = sorted((f.name for f in files), key=lambda name: order.get(name, len(order)))
    _print_table(console, _pairs([(name, _(FILE_WORDS.get(name, ""))) for name in names]))


def print_ladder(console: Console, ladder: Ladder) -> None:
    """Print the price of one piece at every height and quantity."""
    from rich import box
    from rich.table import Table

    console.print()
    title = _("{name} on {garment}, price each").format(
        name=ladder.name, garment=ladder.garment.label
    )
    console.print(title, style="bold", markup=False)
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1), header_style="", show_edge=False)
    for heading in (_("height"), _("width"), _("stitches"), _("minutes"), _("hoop")):
        table.add_column(heading, justify="left" if heading == _("hoop") else "right")
    for quantity in ladder.quantities:
        table.add_column(f"× {quantity}", justify="right")
    for rung in ladder.rungs:
        table.add_row(*_rung_cells(rung))
    _print_table(console, table)
    blocked = [r for r in ladder.rungs if r.n_blocking]
    for rung in blocked:
        worst = rung.findings[0]
        console.print(
            _("* {height:g} mm must not be sewn as it is: {reason}").format(
                height=rung.height_mm, reason=worst.reason
            ),
            markup=False,
        )


def _rung_cells(rung: Rung) -> list[str]:
    mark = " *" if rung.n_blocking else ""
    return [
        f"{rung.height_mm:g} mm{mark}",
        f"{rung.width_mm:.0f} mm",
        count_text(rung.n_stitches),
        band_text(rung.minutes),
        rung.hoop or _("none"),
        *(money_text(q.each) for q in rung.quotes),
    ]


def _print_table(console: Console, table: RenderableType) -> None:
    """Print a table; in a file or a pipe without the spaces that fill its last column."""
    if console.is_terminal:
        console.print(table)
        return
    with console.capture() as caught:
        console.print(table)
    for line in caught.get().splitlines():
        console.file.write(line.rstrip() + "\n")


def _pairs(rows: Sequence[tuple[str, str]]) -> RenderableType:
    from rich.table import Table

    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(min_width=10, no_wrap=True, style="dim")
    table.add_column()
    for name, text in rows:
        table.add_row(f"  {name}", _plain(text))
    return table


def _plain(text: str) -> RenderableType:
    from rich.text import Text

    return Text(text)
