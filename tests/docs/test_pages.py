"""The pages name what exists: packages, files, words a person meets."""

from __future__ import annotations

import configparser
import re
from pathlib import Path

import pytest

from firstpiece.briefing import bare_areas, near_colors, small_details
from firstpiece.model.material import Weave
from firstpiece.model.stitch import Action, Role, StitchType, Underlay

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
SRC = ROOT / "src" / "firstpiece"
PAGES = sorted([*DOCS.rglob("*.md"), ROOT / "README.md", ROOT / "CONTRIBUTING.md"])


def glossary_words() -> set[str]:
    rows = re.findall(r"^\| (.+?) \|", (DOCS / "glossary.md").read_text("utf-8"), re.MULTILINE)
    return {word.strip().lower() for row in rows for word in row.split(",")}


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.name)
def test_links_between_pages_lead_somewhere(page):
    links = re.findall(r"\]\(([^)#]+?)(?:#[^)]*)?\)", page.read_text("utf-8"))
    local = [link for link in links if "://" not in link]
    assert [link for link in local if not (page.parent / link).exists()] == []


def test_architecture_names_every_floor():
    config = configparser.ConfigParser()
    config.read(ROOT / ".importlinter")
    listed = re.findall(r"\w+", config["importlinter:contract:floors"]["layers"])
    page = (DOCS / "architecture.md").read_text("utf-8")
    assert [name for name in listed if f"`{name}`" not in page] == []


def test_life_of_a_job_names_files_that_exist():
    page = (DOCS / "life-of-a-job.md").read_text("utf-8")
    named = re.findall(r"`((?:\w+/)+\w+\.\w+)`", page)
    assert len(named) > 15
    assert [
        name for name in named if not (SRC / name).exists() and not (ROOT / name).exists()
    ] == []


def test_life_of_a_job_passes_every_stage():
    page = (DOCS / "life-of-a-job.md").read_text("utf-8")
    stages = sorted(p.parent.name for p in SRC.glob("*/stage.py"))
    assert [name for name in stages if f"`{name}/stage.py`" not in page] == []


def test_glossary_has_the_words_a_person_meets():
    words = glossary_words()
    met = [*StitchType, *Underlay, *Weave, "tie", "travel", "cover", "underlay"]
    assert [word for word in met if word != "none" and str(word) not in words] == []
    text = (DOCS / "glossary.md").read_text("utf-8")
    assert [a.word for a in Action if a.word not in text] == []
    codes = (bare_areas.CODE, near_colors.CODE, small_details.CODE)
    assert [code for code in codes if code not in text] == []
    assert [r.name for r in Role if r.name.lower() not in words] == []


def test_glossary_tables_are_in_order_and_name_nothing_twice():
    text = (DOCS / "glossary.md").read_text("utf-8")
    seen: list[str] = []
    for section in text.split("\n## ")[1:]:
        rows = [r for r in re.findall(r"^\| (.+?) \|", section, re.MULTILINE) if r != "word"]
        assert rows == sorted(rows, key=str.lower), section.split("\n")[0]
        seen += rows
    assert len(seen) == len(set(seen))


def test_decisions_tell_context_choice_rejected_and_cost():
    pages = sorted((DOCS / "decisions").glob("*.md"))
    assert len(pages) >= 4
    for page in pages:
        text = page.read_text("utf-8")
        for heading in ("Context", "Choice", "Rejected", "Cost"):
            assert f"**{heading}.**" in text, f"{page.name}: {heading}"
