"""Edits in words, on a folder and on a job: carried out, kept, undone, refused without a trace."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import pytest

from firstpiece.errors import EditError, InputError
from firstpiece.model.edit import (
    EDIT_KINDS,
    AddRing,
    AreaRef,
    CloseGap,
    LayArea,
    MakeEven,
    MergeAreas,
    SetLetters,
    SmoothEdge,
    SplitArea,
    SwapThread,
    ThickenArea,
)
from firstpiece.model.lettering import ArcBaseline, CircleBaseline, StraightBaseline
from firstpiece.shop.edit_words import FORMS, read_edit
from firstpiece.shop.editing import (
    EditOrder,
    edit_folder,
    edit_job,
    look_at_folder,
    look_object,
    write_job_folder,
)
from firstpiece.shop.job_book import open_job, read_job
from firstpiece.shop.job_design import prepare_revision, revise_job
from firstpiece.shop.prepare import PrepareRequest, prepare

SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 60">
<rect width="60" height="60" fill="#2f7335"/><rect x="60" width="40" height="60" fill="#d62828"/>
<rect x="20" y="20" width="20" height="20" fill="#f6c445"/></svg>"""
PAGE = (Path(__file__).parents[2] / "docs" / "editing.md").read_text("utf-8")
A = AreaRef


@pytest.mark.parametrize(
    ("words", "edit"),
    [
        ("merge 4 8", MergeAreas((A(4), A(8)))),
        ("merge 4 and 8", MergeAreas((A(4), A(8)))),
        ("split 0 along -40,10 40,25.5", SplitArea(A(0), ((-40.0, 10.0), (40.0, 25.5)))),
        ("thicken 2 by 1mm", ThickenArea(A(2), 1.0)),
        ("thin 12.5,-3 by 0.5", ThickenArea(A(at_mm=(12.5, -3.0)), -0.5)),
        ("thicken 2 by 1/8 in", ThickenArea(A(2), 25.4 / 8)),
        ("swap orchard green for 'new leaf'", SwapThread("orchard green", "new leaf")),
        ("close 3 to 4 within 1mm", CloseGap(A(3), 1.0, A(4))),
        ("smooth 3 at 1,2 within 4mm by 0.3", SmoothEdge(A(3), 0.3, (1.0, 2.0), 4.0)),
        ("ring 2mm in new leaf before round 1 2", AddRing(2.0, "new leaf", (A(1), A(2)), True)),
        ("ring 2mm in bark", AddRing(2.0, "bark")),
        ("ring 1/8 in in bark", AddRing(25.4 / 8, "bark")),
        ("ring 2 in bark", AddRing(2.0, "bark")),
        ("keep 4 below 1", LayArea(A(4), True, A(1))),
        ("cut 4", LayArea(A(4), False)),
        ("even 1 2 at 0,0 turned 90", MakeEven((0.0, 0.0), math.pi / 2, 0, (A(1), A(2)))),
        ("even at 0,0 times 5", MakeEven((0.0, 0.0), math.pi / 2, 5)),
        (
            "text 'in the garden' in bark high 9mm at 0,-4 gap 0.8",
            SetLetters(
                "in the garden", "Noto Sans Bold", "bark", 9.0,
                StraightBaseline((0.0, -4.0)), least_gap_mm=0.8,
            ),
        ),
        (
            "text SPRING in bark high 9mm with harvest arc 50mm inside replacing 3 4",
            SetLetters(
                "SPRING", "harvest", "bark", 9.0,
                ArcBaseline(50.0, (0.0, 0.0), -math.pi / 2, True), replaces=(A(3), A(4)),
            ),
        ),
        (
            "text ROUND in bark high 9mm circle 50mm turned 0",
            SetLetters("ROUND", "Noto Sans Bold", "bark", 9.0, CircleBaseline(50.0, start_rad=0.0)),
        ),
    ],
)  # fmt: skip
def test_words_are_read(words, edit):
    assert read_edit(words) == edit


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("", "“” is no edit"),
        ("knit 3", "the edits are merge, split"),
        ("drop", "one area must be named"),
        ("drop tree", "“tree” names no area"),
        ("drop 1,2,3", "is not a place"),
        ("drop -3", "names no area"),
        ("thicken 3", "“by …” is missing; write it like: thicken AREA by LENGTH"),
        ("thicken 3 by wide", "is not a length"),
        ("thicken 3 by nan", "is not a length"),
        ("split 3 along nan,2 3,4", "is not a number"),
        ("text in bark high 9", "“in …” is missing"),
        ("text 'open in bark", "a quotation mark is not closed"),
        ("even 3", "“at …” is missing"),
        ("even 3 at 0,0 times many", "is not a number"),
        ("ring", "width is missing"),
        ("drop 3 in bark", "“in” means nothing here; write it like: drop AREA"),
        ("sharpen 3", "“at …” is missing"),
    ],
)
def test_words_that_are_no_edit_get_the_form_that_was_meant(words, told):
    with pytest.raises(EditError) as fault:
        read_edit(words)
    assert told in str(fault.value)


def test_every_form_and_kind_stands_on_the_page():
    page = PAGE.replace("\\|", "|")
    verbs = {form.split(" ", 1)[0] for form in FORMS}
    assert [v for v in verbs if not re.search(rf"`{v}[ `]", page)] == []
    assert [kind.kind for kind in EDIT_KINDS if f"`{kind.kind}`" not in page] == []


@pytest.fixture
def folder(tmp_path, fresh_home):
    request = PrepareRequest(SVG, "flag.svg", 30.0)
    write_job_folder(request, prepare(request), tmp_path / "job")
    return tmp_path / "job"


def number_of(folder: Path, thread: str) -> int:
    look = look_at_folder(folder)
    return next(
        r.id for r in look.region_map.sewn_regions if look.region_map.thread_of(r).name == thread
    )


def threads_of(folder: Path) -> set[str]:
    return {t["name"] for t in json.loads((folder / "threads.json").read_text())}


def test_a_folder_is_edited_undone_and_made_again(folder):
    before = threads_of(folder)
    red = next(name for name in before if name in {"poppy", "apple red", "cherry"})
    stitches = (folder / "stitches.csv").read_bytes()
    number = number_of(folder, red)
    done = edit_folder(folder, EditOrder((f"bare {number}",)))
    assert done.said == (f"Area {number} ({red}) is left bare cloth.",)
    assert threads_of(folder) == before - {red}
    look = look_object(look_at_folder(folder))
    assert [e["edit"] for e in look["edits"]] == ["make bare"]
    assert edit_folder(folder, EditOrder(undo=5)).said == ("1 edits are undone.",)
    assert (folder / "stitches.csv").read_bytes() == stitches
    edit_folder(folder, EditOrder(redo=1))
    assert threads_of(folder) == before - {red}
    assert json.loads((folder / "design.json").read_text())["edits"]["undone"] == []


def test_a_refused_edit_leaves_the_folder_as_it_was(folder):
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    with pytest.raises(EditError, match="no area 99"):
        edit_folder(folder, EditOrder(("bare 1", "bare 99")))
    with pytest.raises(InputError, match="the font cannot be opened"):
        edit_folder(folder, EditOrder((), fonts=(("x", "nowhere.ttf"),)))
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before


@pytest.mark.parametrize("content", ["", "[]", "{}", '{"fonts": 3}', "\x00", "[" * 2000])
def test_a_damaged_folder_is_told(folder, content):
    (folder / "design.json").write_text(content)
    with pytest.raises(InputError, match="damaged"):
        look_at_folder(folder)


def test_a_folder_of_something_else_is_told(tmp_path):
    with pytest.raises(InputError, match=r"has no design\.json"):
        look_at_folder(tmp_path)


def test_a_job_is_edited_as_a_new_revision_that_can_be_made_again(fresh_home):
    job = open_job(title="Flag")
    revise_job(job.id, PrepareRequest(SVG, "flag.svg", 30.0))
    first = read_job(job.id).revision
    done = edit_job(job.id, EditOrder(("ring 2mm in bark",)))
    revision = done.job.revision
    assert revision.number == first.number + 1
    assert revision.height_mm == pytest.approx(34.0, abs=0.01)
    assert "A ring 2.00 mm wide" in revision.reason
    again = prepare_revision(read_job(job.id))
    assert again.plan.content_id() == revision.plan_id
    back = edit_job(job.id, EditOrder(undo=1))
    assert back.job.revision.plan_id == first.plan_id


def test_edits_hold_at_another_height_and_lost_ones_are_told(fresh_home):
    from dataclasses import replace

    request = PrepareRequest(SVG, "flag.svg", 30.0)
    from firstpiece.shop.editing import edited_request

    asked, _said = edited_request(request, EditOrder(("ring 2mm in bark",)))
    larger = prepare(replace(asked, height_mm=60.0))
    assert larger.region_map.height_mm == pytest.approx(64.0, abs=0.01)
    thin, _said = edited_request(request, EditOrder(("thin 2 by 9mm",)))
    small = prepare(replace(thin, height_mm=20.0))
    assert [f.code for f in small.findings if f.code == "edit-lost"] == ["edit-lost"]
