"""What is written into a job's folder: pictures, papers, the open stitch list, results as JSON.

Every file is made in memory first and all are written together, so a fault leaves the folder as it
was.
"""

from __future__ import annotations

from gettext import gettext as _
from pathlib import PurePath
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.files.fonts import read_font_metrics
from firstpiece.files.pdf import rasterise_pdf, write_pdf
from firstpiece.files.picture import write_png
from firstpiece.files.region_drawing import write_regions_svg
from firstpiece.files.result_json import (
    write_forecast_json,
    write_json,
    write_plan_json,
    write_quote_json,
)
from firstpiece.files.safe_write import write_together
from firstpiece.files.stitch_table import write_stitch_csv, write_threads_json
from firstpiece.model.paper import PaperJob, QuestionJob
from firstpiece.model.paper_details import SewoutPicture
from firstpiece.paperwork.cleaned_picture import draw_cleaned
from firstpiece.paperwork.price_chart import draw_price_chart
from firstpiece.paperwork.stage import draw_papers, draw_questions
from firstpiece.shop.job_objects import ladder_object
from firstpiece.shop.sewout_drawing import MARGIN_MM, draw_forecast, picture_zoom

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from firstpiece.model.material import Setup
    from firstpiece.model.page import Page
    from firstpiece.model.question import Questions
    from firstpiece.model.region import RegionMap
    from firstpiece.shop.ask import Asked
    from firstpiece.shop.ladder import Ladder
    from firstpiece.shop.prepare import Prepared

PAGE_DPI = 200


def write_outputs(
    prepared: Prepared, folder: Path, *, report: Callable[[float, str], None] | None = None
) -> tuple[Path, ...]:
    """Write everything a job consists of into a folder, all or nothing.

    Parameters
    ----------
    prepared : Prepared
    folder : pathlib.Path
        Made when missing; other files in it are left alone.
    report : callable or None
        ``report(fraction, words)``; may raise to stop.

    Returns
    -------
    tuple of pathlib.Path

    Raises
    ------
    OutputError
        When the folder cannot be written to.
    """
    return write_together(folder, make_outputs(prepared, report=report))


def make_outputs(
    prepared: Prepared, *, report: Callable[[float, str], None] | None = None
) -> dict[str, bytes]:
    """Return the contents of every file by name."""
    tell = report or (lambda _fraction, _words: None)
    tell(0.96, _("Drawing the sew-out"))
    zoom = picture_zoom(prepared.size_mm)
    sewout, window = draw_forecast(prepared)
    cleaned = draw_cleaned(
        prepared.region_map,
        cloth_rgb=prepared.setup.garment.rgb,
        pixels_per_mm=zoom,
        margin_mm=MARGIN_MM,
    )
    tell(0.98, _("Drawing the papers"))
    texts = {
        "stitches.csv": write_stitch_csv(prepared.plan),
        "threads.json": write_threads_json(prepared.plan),
        "regions.svg": write_regions_svg(prepared.region_map),
        "plan.json": write_plan_json(prepared.plan),
        "forecast.json": write_forecast_json(prepared.forecast),
        "quote.json": write_quote_json([prepared.quote]),
    }
    dpi = zoom * 25.4
    return {
        **{name: text.encode() for name, text in texts.items()},
        "cleaned.png": write_png(cleaned, dpi=dpi),
        "sewout.png": write_png(sewout, dpi=dpi),
        **_papers(prepared, SewoutPicture(sewout, window)),
    }


def job_title(name: str) -> str:
    """Return a picture's label without its ending, as paper shows it."""
    return PurePath(name).stem or name


def make_ladder(ladder: Ladder) -> dict[str, bytes]:
    """Return the price table and its picture by file name."""
    quotes = tuple(quote for rung in ladder.rungs for quote in rung.quotes)
    page = draw_price_chart(quotes, title=job_title(ladder.name), subtitle=ladder.garment.label)
    table = write_json("ladder", ladder_object(ladder))
    return {"ladder.png": _pages_png([page]), "ladder.json": table.encode()}


def write_ladder(ladder: Ladder, folder: Path) -> tuple[Path, ...]:
    """Write the price table and its picture; see ``write_outputs``."""
    return write_together(folder, make_ladder(ladder))


def make_questions(
    region_map: RegionMap, questions: Questions, *, setup: Setup, title: str
) -> dict[str, bytes]:
    """Return the message to the customer and, when something is open, its lettered picture."""
    job = QuestionJob(
        title=job_title(title),
        region_map=region_map,
        questions=questions,
        cloth_rgb=setup.garment.rgb,
        metrics=read_font_metrics(),
    )
    message = questions.message.rstrip() + "\n"
    made = {"questions.txt": message.encode()}
    pages = draw_questions(job)
    if pages:
        made["questions.png"] = _pages_png(pages)
    return made


def write_questions(asked: Asked, folder: Path) -> tuple[Path, ...]:
    """Write the message and its picture; see ``write_outputs``."""
    made = make_questions(
        asked.region_map, asked.questions, setup=asked.setup, title=asked.artwork.name
    )
    return write_together(folder, made)


def _papers(prepared: Prepared, sewout: SewoutPicture) -> dict[str, bytes]:
    """Return proof and run sheet; both show findings under the numbers of ``Prepared``."""
    job = PaperJob(
        title=job_title(prepared.artwork.name),
        region_map=prepared.region_map,
        plan=prepared.plan,
        forecast=prepared.forecast,
        setup=prepared.setup,
        metrics=read_font_metrics(),
        quotes=(prepared.quote,),
        findings=prepared.findings,
        sewout=sewout,
    )
    papers = draw_papers(job)
    proof = write_pdf(papers.proof)
    return {
        "proof.png": _pdf_png(proof),
        "proof.pdf": proof,
        "run-sheet.pdf": write_pdf(papers.run_sheet),
    }


def _pages_png(pages: Sequence[Page]) -> bytes:
    """Return pages as one picture for a message, one below the other."""
    return _pdf_png(write_pdf(pages))


def _pdf_png(data: bytes) -> bytes:
    """Return a PDF's pages as one picture."""
    drawn = rasterise_pdf(data, dpi=PAGE_DPI)
    width = max(pixels.shape[1] for pixels in drawn)
    sheet = np.full((sum(pixels.shape[0] for pixels in drawn), width, 3), 255, dtype=np.uint8)
    top = 0
    for pixels in drawn:
        sheet[top : top + pixels.shape[0], : pixels.shape[1]] = pixels
        top += pixels.shape[0]
    return write_png(sheet, dpi=PAGE_DPI)
