"""Small whole jobs for the paper tests: areas, a plan over them, a forecast of known figures."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import shapely
from moneyed import Money

from firstpiece.files.fonts import read_font_metrics
from firstpiece.files.material_card import CardDrawer
from firstpiece.model.finding import Finding, Remedy, Severity
from firstpiece.model.forecast import Forecast, ForecastMap, ThreadUse
from firstpiece.model.material import ThreadColor
from firstpiece.model.measured import Band, Certainty, Figure
from firstpiece.model.paper import PaperJob
from firstpiece.model.question import Choice, Question, Questions
from firstpiece.model.quote import Quote
from firstpiece.model.region import BARE, ColorMatch, Region, RegionMap
from firstpiece.model.stitch import Action, Role, StitchPlan

LEAF = ThreadColor("leaf green", (47, 115, 53), 26.7)
POPPY = ThreadColor("poppy", (212, 42, 36), 26.7)


def rows(width, height, spacing=0.38, step=3.5, x=0.0, y=0.0):
    """Level rows there and back over a box centred at (x, y)."""
    along = np.linspace(-width / 2, width / 2, max(2, int(np.ceil(width / step)) + 1))
    points = []
    for i, level in enumerate(np.arange(-height / 2 + spacing / 2, height / 2, spacing)):
        points += [(x + a, y + level) for a in (along if i % 2 == 0 else along[::-1])]
    return np.array(points)


def turned(points, angle):
    c, s = np.cos(angle), np.sin(angle)
    return points @ np.array([[c, s], [-s, c]])


def plan_of(*runs, threads):
    """A plan from (points, thread index) runs."""
    table = []
    for points, thread in runs:
        table.append((*points[0], Action.JUMP, thread))
        table += [(*p, Action.STITCH, thread) for p in points]
        table.append((*points[-1], Action.TRIM, thread))
    table.append((*table[-1][:2], Action.END, table[-1][3]))
    column = np.array(table, dtype=np.float64)
    n = len(column)
    return StitchPlan(
        column[:, :2], column[:, 2].astype(np.uint8), column[:, 3].astype(np.int16),
        np.full(n, -1, np.int32), np.full(n, Role.COVER, np.uint8), threads,
    )  # fmt: skip


def empty_plan():
    return StitchPlan(
        np.zeros((1, 2)), np.array([Action.END], np.uint8), np.zeros(1, np.int16),
        np.full(1, -1, np.int32), np.zeros(1, np.uint8), (LEAF,),
    )  # fmt: skip


def figure(value, unit, spread=0.2):
    band = Band(value * (1 - spread), value, value * (1 + spread))
    return Figure(band, unit, Certainty.DEFAULT, "told")


def forecast_of(plan, minutes=7.0):
    use = tuple(ThreadUse(i, figure(3.0 + i, "m")) for i in range(len(plan.threads)))
    empty = ForecastMap(np.zeros((1, 1), np.float32), 0.0, 0.0, 1.0, "layers")
    return Forecast(
        (), (), use, figure(2.0, "m"), figure(minutes, "min"), plan.n_stitches,
        plan.count(Action.TRIM), len(plan.threads) - 1, empty, (),
    )  # fmt: skip


def finding(text, where=(3.0, 4.0), severity=Severity.WARN):
    return Finding("told", severity, text, where, remedies=(Remedy("Sew it larger", "height"),))


def two_areas(width=60.0, height=40.0, threads=(LEAF, POPPY)):
    """A box in two colours side by side with a bare window, and its plan."""
    left = shapely.box(-width / 2, -height / 2, 0, height / 2)
    window = shapely.box(-width / 4 - 3, -3, -width / 4 + 3, 3)
    right = shapely.box(0, -height / 2, width / 2, height / 2)
    regions = (Region(0, left.difference(window), 0), Region(1, window, BARE),
        Region(2, right, 1))  # fmt: skip
    matches = (
        ColorMatch((50, 110, 55), threads[0], 1.4),
        ColorMatch((220, 40, 30), threads[1], 6.2),
    )
    plan = plan_of(
        (rows(width / 2, height, x=-width / 4), 0), (rows(width / 2, height, x=width / 4), 1),
        threads=threads,
    )  # fmt: skip
    return RegionMap(regions, matches, width, height), plan


def quote_of(height=40.0, quantity=12):
    each = Money(Decimal("19.20"), "GBP")
    total = each * quantity
    zero = Money(0, "GBP")
    return Quote(height, 1.5 * height, quantity, 8000, 9.0, (), total, zero, total, each, zero,
        Decimal("0.4"))  # fmt: skip


def question(letter="A", text="Is the window bare cloth or white thread?"):
    choices = (Choice("leave the cloth showing", "bare"), Choice("sew it in white", "thread"))
    return Question("bare-or-thread", letter, text, (1,), (-15.0, 0.0), choices)


def job_of(width=60.0, height=40.0, *, garment="apron-natural", **changes):
    region_map, plan = two_areas(width, height)
    job = PaperJob(
        title="Orchard emblem",
        region_map=region_map,
        plan=plan,
        forecast=forecast_of(plan),
        setup=CardDrawer().setup(garment),
        metrics=read_font_metrics(),
        quotes=(quote_of(),),
        findings=(finding("Three ties meet here."), finding("Many holes.", (3.2, 4.1))),
        questions=Questions((question(),), "Dear customer"),
    )
    return replace(job, **changes)
