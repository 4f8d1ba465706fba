"""The price ladder: heights × quantities, every height planned anew.

Stitches do not grow with the square of the height: areas change their treatment as they get wider,
ties and trims stay, details return. So each height goes through the whole chain, by a runner, side
by side where there are processors for it.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from gettext import gettext as _
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from firstpiece.errors import InputError
from firstpiece.model.edit import NO_EDITS
from firstpiece.model.region import TraceOptions
from firstpiece.running.cluster import ClusterRunner
from firstpiece.running.inline import InlineRunner
from firstpiece.running.pool import PoolRunner
from firstpiece.shop.prepare import PrepareRequest, check_height, prepare, price_at

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from firstpiece.files.material_card import CardDrawer
    from firstpiece.model.edit import EditLog
    from firstpiece.model.finding import Finding
    from firstpiece.model.material import Garment
    from firstpiece.model.measured import Figure
    from firstpiece.model.quote import Quote
    from firstpiece.model.stitch import StitchSpec
    from firstpiece.running.runner import Context, Run, Runner

MOST_CELLS = 400
"""Heights times quantities; more is a slip of the finger."""

CLUSTER_VARIABLE = "FIRSTPIECE_CLUSTER"


@dataclass(frozen=True, slots=True, eq=False)
class Rung:
    """One height: what it takes to sew one piece, and its price at every quantity.

    ``hoop`` is the label of the smallest hoop that clears it, empty when none does;
    ``n_blocking`` counts the findings that forbid sewing it as it is.
    """

    height_mm: float
    width_mm: float
    n_stitches: int
    n_color_changes: int
    minutes: Figure
    hoop: str
    n_blocking: int
    findings: tuple[Finding, ...]
    quotes: tuple[Quote, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Ladder:
    """The whole table, heights rising, quantities in the order asked."""

    name: str
    garment: Garment
    quantities: tuple[int, ...]
    rungs: tuple[Rung, ...]


@dataclass(frozen=True, slots=True, eq=False)
class RungRequest:
    """One height's work, as sent to a worker."""

    job: PrepareRequest
    quantities: tuple[int, ...] = field(default=(1,))


def price_ladder(  # noqa: PLR0913 - each is one thing a shop says about a ladder
    data: bytes,
    *,
    name: str,
    heights_mm: Sequence[float],
    quantities: Sequence[int],
    garment: str = "",
    thread: str = "",
    options: TraceOptions | None = None,
    specs: Mapping[int, StitchSpec] = MappingProxyType({}),
    edits: EditLog = NO_EDITS,
    cards: CardDrawer | None = None,
    runner: Runner | None = None,
    report: Callable[[float, str], None] | None = None,
) -> Ladder:
    """Return the prices of one picture at several heights and numbers of pieces.

    Parameters
    ----------
    data : bytes
        A PNG, JPEG, WebP or SVG file.
    name : str
    heights_mm : sequence of float [mm]
        At least one; equal ones are planned once.
    quantities : sequence of int
        Pieces, at least one.
    garment, thread : str
        Card names; empty takes the shop's default and the garment's usual thread.
    options : TraceOptions or None
    specs : mapping of int to StitchSpec
        Wishes by area, the same at every height.
    edits : EditLog
        Edits of the cleaned design, grown to every height.
    cards : CardDrawer or None
    runner : Runner or None
        Where the heights are planned; None plans them here, one after the other.
    report : callable or None
        ``report(fraction, words)``; may raise to stop.

    Raises
    ------
    PictureError, LengthError, CardError, InputError
    """
    heights = tuple(sorted(set(heights_mm)))
    wanted = tuple(dict.fromkeys(quantities))
    _check(heights, wanted)
    requests = [
        RungRequest(
            PrepareRequest(data, name, h, garment, thread, options=options or TraceOptions(),
                           specs=dict(specs), cards=cards, edits=edits),
            wanted,
        )
        for h in heights
    ]  # fmt: skip
    if runner is not None:
        planned = _plan_all(runner, requests, report)
    else:
        with InlineRunner() as inline:
            planned = _plan_all(inline, requests, report)
    return Ladder(name, planned[0][0], wanted, tuple(rung for _garment, rung in planned))


def plan_rung(context: Context, request: RungRequest) -> tuple[Garment, Rung]:
    """Plan one height; the task sent to a worker."""

    def report(fraction: float, words: str) -> None:
        context.check()
        context.report(fraction, words)

    done = prepare(request.job, report=report)
    width = done.size_mm[0]
    hoop = done.hoop
    findings = done.findings
    rung = Rung(
        height_mm=request.job.height_mm,
        width_mm=width,
        n_stitches=done.forecast.n_stitches,
        n_color_changes=done.forecast.n_color_changes,
        minutes=done.forecast.sewing_minutes,
        hoop=hoop.label if hoop else "",
        n_blocking=sum(f.severity.name == "BLOCK" for f in findings),
        findings=findings,
        quotes=tuple(price_at(done, q) for q in request.quantities),
    )
    return done.setup.garment, rung


def choose_runner(n_tasks: int) -> Runner:
    """Return the runner for so many tasks: the shop's cluster, a pool, or this process.

    The cluster's address is read from ``FIRSTPIECE_CLUSTER``.
    """
    address = os.environ.get(CLUSTER_VARIABLE)
    if address:
        return ClusterRunner(address)
    n_workers = min(n_tasks, os.cpu_count() or 1, 4)
    return PoolRunner(n_workers) if n_workers > 1 else InlineRunner()


def _plan_all(
    runner: Runner,
    requests: list[RungRequest],
    report: Callable[[float, str], None] | None,
) -> list[tuple[Garment, Rung]]:
    runs: list[Run[tuple[Garment, Rung]]] = [runner.submit(plan_rung, r) for r in requests]
    results = []
    for i, run in enumerate(runs):
        results.append(run.result(_share(report, runs, i, requests[i].job.height_mm)))
    return results


def _share(
    report: Callable[[float, str], None] | None, runs: list[Any], present: int, height_mm: float
) -> Callable[[float, str], None] | None:
    """Return a report that tells the progress of all heights together."""
    if report is None:
        return None

    def tell(fraction: float, words: str) -> None:
        others = sum(r.progress().fraction for i, r in enumerate(runs) if i != present)
        place = _("{height:g} mm high: {words}").format(height=height_mm, words=words)
        report((others + fraction) / len(runs), place)

    return tell


def _check(heights: tuple[float, ...], quantities: tuple[int, ...]) -> None:
    if not heights or not quantities:
        raise InputError(
            _("a ladder needs at least one height and one quantity"),
            remedy=_("give heights like 3in, 5in and numbers of pieces like 1, 12"),
        )
    if len(heights) * len(quantities) > MOST_CELLS:
        raise InputError(
            _("{n} prices are too many for one table").format(n=len(heights) * len(quantities)),
            remedy=_("ask for fewer heights or quantities"),
        )
    for height in heights:
        check_height(height)
    for quantity in quantities:
        if quantity < 1:
            raise InputError(
                _("{n} is not a number of pieces").format(n=quantity),
                remedy=_("ask for one piece or more"),
            )
