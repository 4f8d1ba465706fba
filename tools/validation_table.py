"""Write ``docs/validation.md``: what is checked against the world outside, and by which test.

Read from ``tests/validation``: a file's docstring names its source; a test's docstring, or else its
name, says what is compared. ``--check`` writes nothing and fails when the page is not current.
"""

from __future__ import annotations

import ast
import sys
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TESTS = ROOT / "tests" / "validation"
PAGE = ROOT / "docs" / "validation.md"

HEADING = """# Checked against the world outside

Made by `python tools/validation_table.py` from the docstrings in `tests/validation`; do not edit.
Each row is a comparison of this program's answer with a published value, a worked example or a
reference library. "from memory" marks a value nobody could look up; "common practice, no source"
marks a fact of the trade.
"""


@dataclass(frozen=True)
class Check:
    """One test: the function's name and what its docstring says."""

    name: str
    text: str


@dataclass(frozen=True)
class Source:
    """One file of checks: its name, the source its docstring names, and its tests."""

    file: str
    text: str
    checks: tuple[Check, ...]


def read_sources(folder: Path) -> tuple[Source, ...]:
    """Return the sources in a folder of test files, by file name.

    Raises
    ------
    ValueError
        When a file has no docstring: nothing is listed without its source.
    """
    return tuple(_read_source(path) for path in sorted(folder.glob("test_*.py")))


def _read_source(path: Path) -> Source:
    tree = ast.parse(path.read_text("utf-8"))
    checks = tuple(
        Check(node.name, _one_line(ast.get_docstring(node) or _sentence(node.name)))
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    )
    citation = ast.get_docstring(tree)
    if not citation:
        msg = f"{path.name} has no docstring that names its source"
        raise ValueError(msg)
    return Source(path.name, _one_line(citation), checks)


def _one_line(text: str) -> str:
    """Return text that is safe in a table cell."""
    return " ".join(text.split()).replace("|", "\\|")


def _sentence(name: str) -> str:
    """Return a test's name as words."""
    return name.removeprefix("test_").replace("_", " ").capitalize() + "."


def make_page(sources: tuple[Source, ...]) -> str:
    """Return the page as Markdown."""
    n_checks = sum(len(s.checks) for s in sources)
    parts = [HEADING, f"{len(sources)} sources, {n_checks} checks.\n"]
    for source in sources:
        rows = [f"| {check.text} | `{check.name}` |" for check in source.checks]
        table = ["| compared | test |", "|---|---|", *rows]
        parts.append(f"## {source.file}\n\n{source.text}\n\n" + "\n".join(table) + "\n")
    return "\n".join(parts)


def main() -> int:
    """Write the page, or with ``--check`` say whether it is current."""
    page = make_page(read_sources(TESTS))
    if "--check" not in sys.argv[1:]:
        PAGE.write_text(page, "utf-8")
        return 0
    if PAGE.is_file() and PAGE.read_text("utf-8") == page:
        return 0
    sys.stderr.write("docs/validation.md is not current: run python tools/validation_table.py\n")
    return 1


if __name__ == "__main__":
    sys.exit(main())
