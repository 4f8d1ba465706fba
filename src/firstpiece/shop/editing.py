"""A person edits a design: sentences are carried out, kept in the log, and the job worked out anew.

Input: a job's folder or number, edits in words, how many to undo or redo. Output: what each edit
did, and the job as it is now; or a look at the design that says what could be edited.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.editing.letters_found import find_letters
from firstpiece.editing.means import EditMeans
from firstpiece.editing.sewable_size import find_sewable_sizes
from firstpiece.editing.stage import carry_out, pin_edit, replay_edits
from firstpiece.editing.symmetry import find_symmetries
from firstpiece.files.picture import write_png
from firstpiece.files.safe_write import write_together
from firstpiece.files.shipped_fonts import shipped_fonts
from firstpiece.model.edit_code import edit_object
from firstpiece.model.sewable import sewable_object
from firstpiece.paperwork.area_numbers import draw_area_numbers
from firstpiece.shop.cards import open_cards
from firstpiece.shop.design_folder import design_files, open_design, read_fonts
from firstpiece.shop.edit_words import SHIPPED, read_edit
from firstpiece.shop.job_book import read_job
from firstpiece.shop.job_design import revise_job, revision_request
from firstpiece.shop.lookup import open_shelf
from firstpiece.shop.outputs import make_outputs
from firstpiece.shop.prepare import prepare, read_design, setup_of
from firstpiece.shop.request_edits import with_edit
from firstpiece.shop.sewout_drawing import MARGIN_MM, picture_zoom

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from firstpiece.editing.letters_found import LetterRow
    from firstpiece.editing.symmetry import Symmetry
    from firstpiece.files.material_card import CardDrawer
    from firstpiece.model.edit import EditLog
    from firstpiece.model.job import Job
    from firstpiece.model.material import Setup
    from firstpiece.model.region import RegionMap
    from firstpiece.model.sewable import SewableSize
    from firstpiece.shop.prepare import Prepared, PrepareRequest, Report

AREAS_FILE = "areas.png"


@dataclass(frozen=True, slots=True)
class EditOrder:
    """What a person asks for: undo and redo first, then edits in words.

    ``fonts`` gives font files by the name that edits call them.
    """

    sentences: tuple[str, ...] = ()
    undo: int = 0
    redo: int = 0
    fonts: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class EditedJob:
    """What was done, and the job as it is now; ``job`` is None for a folder."""

    said: tuple[str, ...]
    log: EditLog
    prepared: Prepared
    files: tuple[Path, ...] = ()
    job: Job | None = None


@dataclass(frozen=True, slots=True, eq=False)
class DesignLook:
    """A design as it stands after its edits, and what could be edited."""

    region_map: RegionMap
    log: EditLog
    said: tuple[str, ...]
    sizes: tuple[SewableSize, ...]
    rows: tuple[LetterRow, ...]
    symmetries: tuple[Symmetry, ...]
    cloth_rgb: tuple[int, int, int]


def edit_folder(folder: Path, order: EditOrder, *, report: Report | None = None) -> EditedJob:
    """Return a job's folder edited; everything in it is written anew, all or nothing.

    Raises
    ------
    InputError
        When the folder is none, or an edit cannot be carried out: then nothing is written.
    """
    request, paths = open_design(folder)
    paths = {**paths, **dict(order.fonts)}
    request = replace(request, fonts=read_fonts(paths))
    request, said = edited_request(request, order)
    prepared = prepare(request, report=report)
    files = write_job_folder(request, prepared, folder, font_paths=paths, report=report)
    return EditedJob(said, request.edits, prepared, files)


def write_job_folder(
    request: PrepareRequest,
    prepared: Prepared,
    folder: Path,
    *,
    font_paths: Mapping[str, str] | None = None,
    report: Report | None = None,
) -> tuple[Path, ...]:
    """Write a job's files and what lets the folder be edited later, all or nothing.

    Raises
    ------
    OutputError
        When the folder cannot be written to.
    """
    files = {
        **make_outputs(prepared, report=report),
        **design_files(request, font_paths or {}),
        AREAS_FILE: numbered_areas(prepared.region_map, prepared.setup.garment.rgb),
    }
    return write_together(folder, files)


def edit_job(
    number: int, order: EditOrder, *, expected: int | None = None, report: Report | None = None
) -> EditedJob:
    """Return a shop's job with its edited design as a new revision.

    Raises
    ------
    JobError, StaleError, InputError
    """
    request = revision_request(read_job(number))
    request = replace(request, fonts=read_fonts(dict(order.fonts)))
    request, said = edited_request(request, order)
    reason = " ".join(said)[:500]
    done = revise_job(number, request, reason=reason, expected=expected, report=report)
    return EditedJob(said, request.edits, done.prepared, job=done.job)


def edited_request(
    request: PrepareRequest, order: EditOrder
) -> tuple[PrepareRequest, tuple[str, ...]]:
    """Return a request after undo, redo and further edits, and what each of them did.

    Raises
    ------
    EditError
        When an edit cannot be carried out.
    """
    log = request.edits
    said: list[str] = []
    if order.undo:
        n = len(log.edits) - len(log.undo(order.undo).edits)
        log = log.undo(order.undo)
        said.append(_("{n} edits are undone.").format(n=n) if n else _("There is nothing to undo."))
    if order.redo:
        n = len(log.redo(order.redo).edits) - len(log.edits)
        log = log.redo(order.redo)
        said.append(
            _("{n} edits are made again.").format(n=n) if n else _("There is nothing to redo.")
        )
    request = replace(request, edits=log)
    if not order.sentences:
        return request, tuple(said)
    region_map, means = _design_now(request)
    for sentence in order.sentences:
        edit = pin_edit(region_map, read_edit(sentence))
        edited = carry_out(region_map, edit, means=means)
        region_map = edited.region_map
        means = replace(means, next_id=max(means.next_id, means.first_new(region_map)))
        request = with_edit(request, edit)
        said.append(edited.sentence)
    return request, tuple(said)


def look_at_folder(folder: Path) -> DesignLook:
    """Return the design of a job's folder and what could be edited in it."""
    return look_at_design(open_design(folder)[0])


def look_at_job(number: int) -> DesignLook:
    """Return the newest design of a shop's job and what could be edited in it."""
    return look_at_design(revision_request(read_job(number)))


def look_at_design(request: PrepareRequest) -> DesignLook:
    """Return a design as it stands after its edits, and what could be edited."""
    cards = request.cards or open_cards()
    setup = setup_of(request, cards)
    base, means = _base(request, setup)
    done = replay_edits(base, request.edits, means=means, strict=False)
    return DesignLook(
        region_map=done.region_map,
        log=request.edits,
        said=done.sentences,
        sizes=sewable_sizes(done.region_map, setup=setup, cards=cards),
        rows=find_letters(done.region_map),
        symmetries=find_symmetries(done.region_map),
        cloth_rgb=setup.garment.rgb,
    )


def sewable_sizes(
    region_map: RegionMap, *, setup: Setup, cards: CardDrawer
) -> tuple[SewableSize, ...]:
    """Return the smallest sewable height of every area and gap with a job's thread and cloth."""
    now = setup.thread.laid_width_mm
    widths = {name: cards.thread(name).laid_width_mm for name in cards.names("threads")}
    return find_sewable_sizes(
        region_map,
        thread_mm=now,
        # Each side is widened by the cloth's pull and lies half a thread over its holes.
        gap_mm=2.0 * setup.fabric.pull.value + now,
        thinner={name: mm for name, mm in widths.items() if mm < now},
    )


def numbered_areas(region_map: RegionMap, cloth_rgb: tuple[int, int, int]) -> bytes:
    """Return a PNG of the design with its areas' numbers."""
    zoom = picture_zoom((region_map.width_mm, region_map.height_mm))
    pixels = draw_area_numbers(
        region_map,
        font=shipped_fonts()[SHIPPED],
        cloth_rgb=cloth_rgb,
        pixels_per_mm=zoom,
        margin_mm=MARGIN_MM,
    )
    return write_png(pixels, dpi=zoom * 25.4)


def look_object(look: DesignLook) -> dict[str, Any]:
    """Return a look at a design as plain values."""
    design = look.region_map
    return {
        "width_mm": round(design.width_mm, 2),
        "height_mm": round(design.height_mm, 2),
        "areas": [
            {
                "number": r.id,
                "thread": None if r.is_bare else design.thread_of(r).name,
                "mm2": round(r.polygon.area, 2),
                "letter": r.letter.text if r.letter else None,
                "is_line": bool(r.lines),
            }
            for r in design.regions
        ],
        "sizes": [sewable_object(size) for size in look.sizes],
        "letters": [
            {
                "areas": [list(letter) for letter in row.letters],
                "height_mm": round(row.height_mm, 2),
                "off_line_mm": round(row.off_line_mm, 3),
            }
            for row in look.rows
        ],
        "symmetries": [
            {
                "centre_mm": [round(v, 2) for v in s.centre_mm],
                "angle_rad": round(s.angle_rad, 4),
                "fold": s.fold,
                "error_mm": round(s.error_mm, 3),
            }
            for s in look.symmetries
        ],
        "edits": [
            {**edit_object(edit), "said": said}
            for edit, said in zip(look.log.edits, look.said, strict=True)
        ],
        "n_undone": len(look.log.undone),
    }


def _design_now(request: PrepareRequest) -> tuple[RegionMap, EditMeans]:
    """Return the design after the edits so far, and what further ones may use."""
    setup = setup_of(request, request.cards or open_cards())
    base, means = _base(request, setup)
    done = replay_edits(base, request.edits, means=means)
    return done.region_map, replace(means, next_id=done.next_id)


def _base(request: PrepareRequest, setup: Setup) -> tuple[RegionMap, EditMeans]:
    _artwork, design = read_design(
        request, setup=setup, shelf=open_shelf(), report=lambda _fraction, _words: None
    )
    fonts: Mapping[str, bytes] = {**shipped_fonts(), **request.fonts}
    return design.value, EditMeans(rack=setup.thread.colors, fonts=fonts)


def all_sentences(texts: Sequence[str]) -> tuple[str, ...]:
    """Return edits typed with semicolons between them one by one."""
    return tuple(part.strip() for text in texts for part in text.split(";") if part.strip())
