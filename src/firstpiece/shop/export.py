"""Ways out for a plan: stitch list, motion program, SVG, records by the shop's own layout.

In: a job's number, or a folder that ``prepare --out`` wrote; what to write. Out: contents by file
name, ready to be handed over.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.files.motion_program import MotionWords, write_motion_program
from firstpiece.files.record_layout import read_layout
from firstpiece.files.record_program import write_program
from firstpiece.files.stitch_table import read_stitch_csv, write_stitch_csv, write_threads_json
from firstpiece.files.thread_runs_svg import write_runs_svg
from firstpiece.model.hooping import check_clearance
from firstpiece.shop.hand_over import DesignMark, file_stem

if TYPE_CHECKING:
    from firstpiece.model.stitch import StitchPlan

RECORDS = "records:"
KINDS = ("motion", "csv", "svg")
MOTION_ENDING = "nc"


@dataclass(frozen=True, slots=True)
class ExportSource:
    """A plan to be written and what it belongs to."""

    plan: StitchPlan
    mark: DesignMark


@dataclass(frozen=True, slots=True)
class ExportManner:
    """How to write it.

    Parameters
    ----------
    kind : str
        One of ``KINDS``, or ``records:`` and the path of a layout.
    words : MotionWords
        For motion programs.
    hoop : str
        Card of the hoop it will be sewn in; the plan must clear it. Empty does not ask.
    """

    kind: str
    words: MotionWords = field(default_factory=MotionWords)
    hoop: str = ""


def open_source(source: str, *, colorway: str = "") -> ExportSource:
    """Return the plan of a folder, or of a job by its number.

    Parameters
    ----------
    source : str
        A folder that ``prepare --out`` wrote, or a job's number.
    colorway : str
        Name of a colourway of the job.

    Raises
    ------
    InputError, JobError
    """
    folder = Path(source)
    if source.isdecimal() and not folder.exists():
        return _open_job(int(source), colorway)
    if colorway:
        raise InputError(
            _("only a job has colourways"),
            where=_("colourway"),
            remedy=_("give the job's number instead of a folder"),
        )
    return _open_folder(folder)


def _open_folder(folder: Path) -> ExportSource:
    try:
        table = (folder / "stitches.csv").read_text("utf-8")
        threads = (folder / "threads.json").read_text("utf-8")
    except (OSError, UnicodeDecodeError) as fault:
        raise InputError(
            _("there is no stitches.csv with its threads.json"),
            where=str(folder),
            remedy=_("give a folder with a prepared design, or a job's number"),
        ) from fault
    plan = read_stitch_csv(table, threads)
    title = folder.resolve().name or "design"
    return ExportSource(plan, DesignMark(title, plan.content_id(), plan.size_mm[1]))


def _open_job(number: int, colorway: str) -> ExportSource:
    from firstpiece.shop.colorways import in_colorway_of
    from firstpiece.shop.job_book import read_job
    from firstpiece.shop.job_design import prepare_revision

    job = read_job(number)
    plan = prepare_revision(job).plan
    if colorway:
        plan = in_colorway_of(job, plan, colorway)
    revision = job.revision
    height = revision.height_mm if revision else plan.size_mm[1]
    return ExportSource(
        plan,
        DesignMark(
            f"{number}-{job.title}", plan.content_id(), height, len(job.revisions), colorway
        ),
    )


def export_design(source: ExportSource, manner: ExportManner) -> dict[str, bytes]:
    """Return the files of one way out by name.

    Raises
    ------
    InputError
        When the kind is not known, or the plan does not clear the hoop.
    LayoutError
        When the layout is wrong or cannot express the plan.
    """
    if manner.hoop:
        _check_hoop(source.plan, manner.hoop)
    stem, plan = file_stem(source.mark), source.plan
    comments = (source.mark.words, _("plan {hash}").format(hash=source.mark.plan_id))
    if manner.kind == "motion":
        text = write_motion_program(plan, manner.words, comments=comments)
        return {f"{stem}.{MOTION_ENDING}": text.encode()}
    if manner.kind == "csv":
        return {
            f"{stem}.stitches.csv": write_stitch_csv(plan).encode(),
            f"{stem}.threads.json": write_threads_json(plan).encode(),
        }
    if manner.kind == "svg":
        return {f"{stem}.svg": write_runs_svg(plan, title=source.mark.words).encode()}
    if manner.kind.startswith(RECORDS):
        path = Path(manner.kind.removeprefix(RECORDS))
        layout = read_layout(read_layout_text(path), name=path.name)
        return {f"{stem}.{layout.ending}": write_program(plan, layout, name=stem)}
    raise InputError(
        _("“{kind}” is not a way out").format(kind=manner.kind[:40]),
        where=_("kind"),
        remedy=_("use {kinds} or records:LAYOUT.toml").format(kinds=", ".join(KINDS)),
    )


def read_layout_text(path: Path) -> str:
    """Return a layout file's text; InputError when it cannot be read."""
    try:
        return path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as fault:
        raise InputError(
            _("the layout cannot be read"),
            where=str(path),
            remedy=_("give the path of a TOML file in UTF-8"),
        ) from fault


def _check_hoop(plan: StitchPlan, name: str) -> None:
    from firstpiece.shop.cards import open_cards

    cards = open_cards()
    hoops = tuple(cards.hoop(n) for n in cards.names("hoops"))
    check_clearance(plan, cards.hoop(name), hoops)
