"""Sentences made below the two faces are read on the page and at the command line alike.

So none of them names a command or an option: those who type would understand it, those who click
would not.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

from firstpiece.cli.root import COMMANDS

SOURCE = Path(__file__).parents[2] / "src" / "firstpiece"
FACES = {"cli", "web"}
TOLD = {"_", "ngettext"}
COMMAND = re.compile(rf"\bfirstpiece (?:{'|'.join(COMMANDS)})\b|(?<![\w-])--[a-z]")


def sentences(path):
    """Yield the texts shown to people, and the places that faults name."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.id if isinstance(node.func, ast.Name) else ""
        said = [*node.args] if name in TOLD else []
        said += [word.value for word in node.keywords if word.arg in ("where", "remedy")]
        for text in said:
            if isinstance(text, ast.Constant) and isinstance(text.value, str):
                yield text.lineno, text.value


def test_no_sentence_below_the_faces_names_a_command_or_an_option():
    found = [
        f"{path.relative_to(SOURCE)}:{line}: {text}"
        for path in sorted(SOURCE.rglob("*.py"))
        if path.relative_to(SOURCE).parts[0] not in {*FACES, "__main__.py"}
        for line, text in sentences(path)
        if COMMAND.search(text)
    ]
    assert found == []


def test_a_command_in_a_sentence_is_seen(tmp_path):
    path = tmp_path / "sample.py"
    path.write_text('X(_("see firstpiece job list"), where="--price", remedy=_("mend it"))')
    assert [bool(COMMAND.search(text)) for _line, text in sentences(path)] == [True, True, False]
