"""``firstpiece edit``: edits of a design in words, undo, redo, and a look at what can be edited."""

from __future__ import annotations

import math
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json, progress_bar
from firstpiece.errors import InputError

if TYPE_CHECKING:
    from rich.console import Console

    from firstpiece.editing.symmetry import Symmetry
    from firstpiece.shop.editing import DesignLook, EditedJob, EditOrder

MOST_ROWS = 40


@click.command(short_help="Edit a design's areas: merge, split, thicken, set text, undo.")
@click.argument("target")
@click.argument("edits", nargs=-1)
@click.option(
    "--undo",
    type=click.IntRange(0),
    default=0,
    metavar="N",
    help="Take back the last N edits first.",
)
@click.option(
    "--redo",
    type=click.IntRange(0),
    default=0,
    metavar="N",
    help="Make N edits again that were taken back.",
)
@click.option(
    "--font",
    "fonts",
    multiple=True,
    metavar="NAME=FILE",
    help="A font file that a text edit calls by this name; may be given again.",
)
@click.option(
    "--look",
    is_flag=True,
    help="Change nothing: list areas, sizes, letters, symmetries and edits so far.",
)
@click.option("--forms", is_flag=True, help="List how every edit is written.")
@click.option(
    "--seen",
    type=click.IntRange(1),
    metavar="VERSION",
    help="Version of the job you saw; refuse when it has changed since.",
)
@json_option  # fmt: skip
def edit(
    *,
    target: str,
    edits: tuple[str, ...],
    fonts: tuple[str, ...],
    as_json: bool,
    **steps: Any,
) -> int:
    """Carry out EDITS on TARGET: a folder that 'prepare --out' wrote, or a job's number.

    Each edit is a sentence in quotes, such as "thicken 2 by 0.5mm" or "split 0 along -40,10
    40,25". Areas have the numbers that areas.png shows. Everything that lies downstream is worked
    out and written anew; when an edit cannot be carried out, nothing is.
    """
    if steps["forms"]:
        return _print_forms(as_json=as_json)
    if steps["look"]:
        return _look(target, as_json=as_json)
    from firstpiece.shop.editing import EditOrder, all_sentences

    order = EditOrder(all_sentences(edits), steps["undo"], steps["redo"], _named(fonts))
    done = _carry_out(target, order, steps["seen"])
    if as_json:
        _print_json(done)
    else:
        _print_done(open_console(), target, done)
    return 1 if done.prepared.blocks_sewing else 0


def _carry_out(target: str, order: EditOrder, seen: int | None) -> EditedJob:
    from firstpiece.files.safe_write import check_writable
    from firstpiece.shop.editing import edit_folder, edit_job

    with progress_bar() as report:
        if _is_job(target):
            return edit_job(int(target), order, expected=seen, report=report)
        check_writable(Path(target))
        return edit_folder(Path(target), order, report=report)


def _is_job(target: str) -> bool:
    """Whether a target is a job's number; a folder of that name goes first."""
    return target.isdigit() and len(target) < 10 and not Path(target).is_dir()


def _named(fonts: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """Return the fonts by name; a file alone is called by its name without the ending."""
    found = []
    for text in fonts:
        name, sign, path = text.partition("=")
        if not sign:
            name, path = Path(text).stem, text
        if not name or not path:
            raise InputError(
                _("“{text}” names no font").format(text=text[:60]),
                where="--font",
                remedy=_("write it like harvest=fonts/harvest.ttf"),
            )
        found.append((name, str(Path(path).resolve())))
    return tuple(found)


def _look(target: str, *, as_json: bool) -> int:
    from firstpiece.shop.editing import look_at_folder, look_at_job, look_object

    seen = look_at_job(int(target)) if _is_job(target) else look_at_folder(Path(target))
    if as_json:
        print_json("look", look_object(seen))
    else:
        _print_look(open_console(), seen)
    return 0


def _print_forms(*, as_json: bool) -> int:
    from firstpiece.shop.edit_words import FORMS

    if as_json:
        print_json("forms", {"forms": list(FORMS)})
    else:
        for form in FORMS:
            click.echo(form)
    return 0


def _print_json(done: EditedJob) -> None:
    from firstpiece.model.edit_code import log_object
    from firstpiece.shop.job_objects import job_object

    content: dict[str, Any] = {
        "said": list(done.said),
        "log": log_object(done.log),
        "job": job_object(done.prepared, done.files),
    }
    print_json("edit", content)


def _print_done(console: Console, target: str, done: EditedJob) -> None:
    from firstpiece.cli.job_text import print_files, print_job

    for sentence in done.said:
        console.print(sentence, markup=False)
    print_job(console, done.prepared)
    if done.files:
        print_files(console, Path(target), done.files)


def _print_look(console: Console, seen: DesignLook) -> None:
    from rich.table import Table

    design = seen.region_map
    console.print(
        _("The design is {w:.1f} × {h:.1f} mm and has {n} areas.").format(
            w=design.width_mm, h=design.height_mm, n=len(design.regions)
        )
    )
    smallest = {size.areas[0]: size.smallest_height_mm for size in seen.sizes if not size.is_gap}
    table = Table(box=None, pad_edge=False)
    for heading in (_("area"), _("thread"), _("mm²"), _("sewable from")):
        table.add_column(heading, justify="left" if heading == _("thread") else "right")
    for region in design.regions[:MOST_ROWS]:
        height = smallest.get(region.id)
        table.add_row(
            str(region.id),
            _("bare") if region.is_bare else design.thread_of(region).name,
            f"{region.polygon.area:.1f}",
            "" if height is None else _("{mm:.0f} mm high").format(mm=height),
        )
    console.print(table)
    if len(design.regions) > MOST_ROWS:
        console.print(_("… and {n} more areas").format(n=len(design.regions) - MOST_ROWS))
    for sentence in _findings(seen):
        console.print(sentence, markup=False)


def _findings(seen: DesignLook) -> list[str]:
    """Return sentences on what is too small, what could be straightened, and what was edited."""
    told = []
    for size in seen.sizes:
        if size.is_too_small:
            what = _("The gap beside area {n}") if size.is_gap else _("Area {n}")
            said = _("{what} is {mm:.2f} mm wide, {limit:.2f} mm are needed:").format(
                what=what.format(n=size.areas[0]), mm=size.width_mm, limit=size.limit_mm
            )
            told.append(" ".join([said, *(remedy.sentence for remedy in size.remedies)]))
    told += [
        _("A row of {n} letters, {mm:.1f} mm high, up to {off:.2f} mm off its line.").format(
            n=len(row.letters), mm=row.height_mm, off=row.off_line_mm
        )
        for row in seen.rows
    ]
    told += [_even_words(found) for found in seen.symmetries]
    for place, said in enumerate(seen.said, start=1):
        told.append(_("Edit {n}: {said}").format(n=place, said=said))
    if seen.log.undone:
        told.append(_("{n} edits can be made again.").format(n=len(seen.log.undone)))
    return told


def _even_words(found: Symmetry) -> str:
    """Return a symmetry that was found, as the edit that makes it exact."""
    x, y = found.centre_mm
    edit = f"even at {x:.2f},{y:.2f} turned {math.degrees(found.angle_rad):.2f}"
    if found.fold:
        edit += f" times {found.fold}"
    said = _("Nearly even, {mm:.2f} mm off; “{edit}” makes it so.")
    return said.format(mm=found.error_mm, edit=edit)
