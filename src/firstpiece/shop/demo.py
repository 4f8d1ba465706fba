"""The demo: a community orchard's rough picture through the whole chain, into a folder."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from firstpiece.files.safe_write import check_writable, write_together
from firstpiece.shop.demo_picture import draw_demo_picture
from firstpiece.shop.ladder import choose_runner, price_ladder
from firstpiece.shop.outputs import make_ladder, make_outputs, make_questions
from firstpiece.shop.prepare import prepare_picture

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from firstpiece.shop.ladder import Ladder
    from firstpiece.shop.prepare import Prepared

NAME = "windfall-row.jpg"
HEIGHT_MM = 90.0
HEIGHTS_MM = (60.0, HEIGHT_MM, 125.0)
QUANTITIES = (1, 12, 48)
ORDERED = 12


@dataclass(frozen=True, slots=True, eq=False)
class Demo:
    """What the demo made and where it lies."""

    prepared: Prepared
    ladder: Ladder
    files: tuple[Path, ...]


def run_demo(folder: Path, *, report: Callable[[float, str], None] | None = None) -> Demo:
    """Run the chain on the demo picture and write everything into a folder.

    Parameters
    ----------
    folder : pathlib.Path
        Made when missing.
    report : callable or None
        ``report(fraction, words)``; may raise to stop.

    Raises
    ------
    OutputError
        When the folder cannot be written to.
    """
    tell = report or (lambda _fraction, _words: None)
    check_writable(folder)
    data = draw_demo_picture()
    with choose_runner(len(HEIGHTS_MM)) as runner:
        ladder = price_ladder(
            data,
            name=NAME,
            heights_mm=HEIGHTS_MM,
            quantities=QUANTITIES,
            runner=runner,
            report=lambda fraction, words: tell(0.7 * fraction, words),
        )
    # The ladder has planned this height already; its results are looked up.
    prepared = prepare_picture(
        data,
        name=NAME,
        height_mm=HEIGHT_MM,
        quantity=ORDERED,
        report=lambda fraction, words: tell(0.7 + 0.2 * fraction, words),
    )
    contents = {
        NAME: data,
        **make_outputs(prepared, report=report),
        **make_ladder(ladder),
        **make_questions(prepared.region_map, prepared.questions, setup=prepared.setup, title=NAME),
    }
    return Demo(prepared, ladder, write_together(folder, contents))
