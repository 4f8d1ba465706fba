"""``firstpiece forecast``: every figure of a sew-out with its band, its maps, what is not known."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json, progress_bar
from firstpiece.cli.options import (
    area_option,
    height_option,
    job_options,
    out_option,
    picture_argument,
)
from firstpiece.cli.prepare_command import request_of

if TYPE_CHECKING:
    from pathlib import Path

    from rich.console import Console
    from rich.table import Table

    from firstpiece.model.measured import Figure
    from firstpiece.shop.forecast_report import AreaLine, ForecastReport

MOST_NEIGHBOURS = 6


@click.command(short_help="Tell all that is forecast of a picture, with bands and maps.")
@picture_argument
@height_option
@job_options
@area_option
@click.option(
    "--quantity", type=int, default=1, metavar="N", help="Pieces of the order; 1 unless given."
)
@out_option
@json_option
def forecast(
    *, picture: Path, height: float | None, out: Path | None, as_json: bool, **job: Any
) -> int:
    """Forecast PICTURE's sew-out: areas, neighbours, the order's time and supplies.

    Numbers in brackets are the band of the cards' ranges. With --out the maps go into a folder as
    pictures and as layers.json.
    """
    from firstpiece.shop.forecast_files import write_layers
    from firstpiece.shop.forecast_report import report_object, report_on
    from firstpiece.shop.prepare import prepare

    request = request_of(picture, height, job)
    with progress_bar() as progress:
        prepared = prepare(request, report=progress)
    report = report_on(prepared)
    files = () if out is None else write_layers(prepared, out)
    if as_json:
        print_json("forecast", {**report_object(report), "files": [str(f) for f in files]})
    else:
        console = open_console()
        _print(console, report)
        if out is not None:
            from firstpiece.cli.job_text import print_files

            print_files(console, out, files)
    return 1 if prepared.blocks_sewing else 0


def _print(console: Console, report: ForecastReport) -> None:
    from firstpiece.cli.sentences import band_text

    _headed(console, _("Areas, in sewing order"), _area_table(report.areas))
    words = _("Pucker: the first draws hardest on the cloth; a ranking, no size is known.")
    console.print(f"  {words}", markup=False)
    if report.neighbours:
        _headed(console, _("Neighbours, least contrast first"), _neighbour_table(report))
    order = report.order
    console.print()
    words = _("{n} pieces: {total} with hooping and finishing, {machine} at the machine").format(
        n=report.quantity,
        total=band_text(order.total, unit=_("min")),
        machine=band_text(order.machine, unit=_("min")),
    )
    console.print(words, markup=False)
    _headed(console, _("Supplies"), _supply_table(report))
    if report.swatches:
        console.print()
        console.print(_("Not known without a sewn swatch"), style="bold", markup=False)
        for swatch in report.swatches:
            console.print(f"  {swatch.name}: {swatch.settles}", markup=False)
            console.print(f"    {swatch.sew}", markup=False)


def _headed(console: Console, title: str, table: Table) -> None:
    from rich.padding import Padding

    console.print()
    console.print(title, style="bold", markup=False)
    console.print(Padding(table, (0, 0, 0, 2)))


def _table(n_figures: int) -> Table:
    """Return an empty table: a name and so many figures."""
    from rich.table import Table

    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(no_wrap=True)
    for _figure in range(n_figures):
        table.add_column(justify="right", no_wrap=True)
    return table


def _area_table(areas: tuple[AreaLine, ...]) -> Table:
    """One line for all areas of one thread sewn alike, with the worst figure of each."""
    table = _table(6)
    table.add_row(
        "", _("cover"), _("cloth shows, ΔE00"), _("specks"), _("contrast"), _("drawn in, mm"),
        _("pucker"),
    )  # fmt: skip
    ranks = _pucker_ranks(areas)
    for name, lines in _alike(areas).items():
        looks = [line.look for line in lines]
        drawn = [line.settled.drawn_in for line in lines if line.settled is not None]
        shown = max((look.show_through for look in looks), key=lambda f: f.band.p50)
        table.add_row(
            name if len(lines) == 1 else _("{name} ({n} areas)").format(name=name, n=len(lines)),
            f"{100 * min(look.cover for look in looks):.0f} %",
            _told(shown, 1),
            f"{max((look.views[0].p95 for look in looks if look.views), default=0.0):.1f}",
            f"{lines[0].reading.contrast:.1f}",
            _told(max(drawn, key=lambda f: f.band.p50) if drawn else None, 1),
            ranks[name],
        )
    return table


def _alike(areas: tuple[AreaLine, ...]) -> dict[str, list[AreaLine]]:
    from firstpiece.shop.forecast_report import area_name

    groups: dict[str, list[AreaLine]] = {}
    for line in areas:
        groups.setdefault(area_name(line), []).append(line)
    return groups


def _pucker_ranks(areas: tuple[AreaLine, ...]) -> dict[str, str]:
    """Return each kind of area's place by how hard it draws on the cloth: a ranking, no size."""
    worst = {}
    for name, lines in _alike(areas).items():
        drawn = [line.pucker.contraction.band.p50 for line in lines if line.pucker is not None]
        worst[name] = max(drawn, default=None)
    order = sorted({v for v in worst.values() if v is not None}, reverse=True)
    return {
        name: _("not known") if v is None else str(order.index(v) + 1) for name, v in worst.items()
    }


def _told(figure: Figure | None, digits: int) -> str:
    from firstpiece.cli.sentences import band_text

    return _("not known") if figure is None else band_text(figure, digits=digits)


def _neighbour_table(report: ForecastReport) -> Table:
    table = _table(2)
    table.add_row("", _("ΔE00"), _("contrast"))
    for pair in report.neighbours[:MOST_NEIGHBOURS]:
        table.add_row(
            _("areas {one} and {other}").format(one=pair.first_id, other=pair.second_id),
            f"{pair.difference:.0f}",
            f"{pair.contrast:.1f}",
        )
    return table


def _supply_table(report: ForecastReport) -> Table:
    from firstpiece.cli.sentences import band_text

    use = report.supplies
    table = _table(3)
    for supply in use.threads:
        table.add_row(
            supply.thread.name,
            band_text(supply.metres, digits=1, unit=_("m")),
            band_text(supply.grams, digits=1, unit=_("g")),
            _("{n} of a cone").format(n=f"{supply.cones.band.p50:.3f}"),
        )
    table.add_row(
        _("bobbin"),
        band_text(use.bobbin_m, digits=1, unit=_("m")),
        band_text(use.bobbin_g, digits=1, unit=_("g")),
        "",
    )
    table.add_row(_("backing"), "", f"{use.backing_g:.0f} g", "")
    return table
