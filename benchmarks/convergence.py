"""Print and plot how the membrane's error falls with its elements' size against exact answers.

``python -m benchmarks.convergence`` solves Eshelby's disc, Kirsch's hole and Cook's panel on finer
and finer meshes, fits the order of convergence, and writes ``benchmarks/results/convergence.png``.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from tests.validation import test_cook_membrane as cook
from tests.validation import test_eshelby_disc as eshelby
from tests.validation import test_kirsch as kirsch
from tests.validation.sheets import fitted_order

from benchmarks.line_plot import Line, Panel, save_plot

RESULTS = Path(__file__).parent / "results"


def hole_error(n: int) -> float:
    r, across, _, _ = kirsch.hoop_stress(n)
    a2, a4 = (kirsch.RADIUS / r) ** 2, (kirsch.RADIUS / r) ** 4
    return float(np.sqrt(np.mean((across - 0.5 * (2 + a2 + 3 * a4)) ** 2)))


def main() -> int:
    cases = (
        ("shrinking disc (Eshelby 1957)", (24, 48, 96, 192),
         lambda n: abs(eshelby.inside_strain(n)[0] / eshelby.EXACT - 1)),
        ("round hole (Kirsch 1898)", (12, 24, 48, 96), hole_error),
        ("tapered panel (Cook 1974)", (8, 16, 32, 64), lambda n: 1 - cook.tip(n) / cook.REFERENCE),
    )  # fmt: skip
    panels = []
    for name, sizes, error in cases:
        errors = [float(error(n)) for n in sizes]
        order = fitted_order(1 / np.array(sizes), errors)
        table = "".join(f"{n:6d}: {e:8.2e}" for n, e in zip(sizes, errors, strict=True))
        print(f"{name:32}{table}   order {order:.2f}")
        ideal = [errors[0] * (sizes[0] / n) ** order for n in sizes]
        panels.append(
            Panel(name, "elements along a side", "relative error",
                  (Line("", sizes, errors), Line(f"order {order:.2f}", sizes, ideal, dashed=True)),
                  log=True)
        )  # fmt: skip
    save_plot(panels, RESULTS / "convergence.png")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
