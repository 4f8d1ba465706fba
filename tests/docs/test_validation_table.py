"""The validation page is made from the tests and is current."""

from __future__ import annotations

from pathlib import Path

import pytest
from tools import validation_table as table

ROOT = Path(__file__).resolve().parents[2]


def test_page_is_current():
    page = table.make_page(table.read_sources(ROOT / "tests" / "validation"))
    written = (ROOT / "docs" / "validation.md").read_text("utf-8")
    assert written == page, "run python tools/validation_table.py"


def test_every_source_and_check_is_listed(tmp_path):
    (tmp_path / "test_book.py").write_text(
        '"""A book,\n1999, page 3."""\n\ndef test_area():\n    """Area | by formula."""\n'
    )
    page = table.make_page(table.read_sources(tmp_path))
    assert "1 sources, 1 checks." in page
    assert "A book, 1999, page 3." in page
    assert r"| Area \| by formula. | `test_area` |" in page


def test_a_check_without_words_is_listed_by_its_name(tmp_path):
    (tmp_path / "test_book.py").write_text('"""A book."""\n\ndef test_area_is_pi():\n    pass\n')
    page = table.make_page(table.read_sources(tmp_path))
    assert "| Area is pi. | `test_area_is_pi` |" in page


def test_a_file_without_a_source_is_refused(tmp_path):
    (tmp_path / "test_book.py").write_text("def test_area():\n    pass\n")
    with pytest.raises(ValueError, match=r"test_book\.py has no docstring"):
        table.read_sources(tmp_path)
