"""Rules of the house that no linter knows: names, sizes, hosts and machine paths."""

from __future__ import annotations

import ast
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SRC = ROOT / "src" / "firstpiece"
SOURCES = sorted(SRC.rglob("*.py"))
LONGEST_MODULE = 500
LONGEST_FUNCTION = 60
VAGUE = {"utils", "util", "helpers", "helper", "misc", "common", "manager", "handler", "base",
         "core", "tools", "lib"}  # fmt: skip

# Written in two halves so that this file does not find itself.
HOSTS = ("py" + "pi.org", "python" + "hosted.org", "npm" + "js.", "registry." + "npm",
         "crates" + ".io", "proxy." + "golang", "deb." + "debian.org")  # fmt: skip
MACHINE_PATHS = ("/wo" + "rk/", "/tmp" + "/w/", "/ro" + "ot/", "/ho" + "me/", "../sha" + "red")
TEXT_ENDINGS = {".py", ".md", ".toml", ".ini", ".txt", ".in", ".json", ".html", ".css", ".js",
                ".svg", ".csv", ".cfg", ".po", ".yml", ""}  # fmt: skip


def tracked_texts() -> list[Path]:
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout: nothing says which files belong to the project")
    paths = [ROOT / name for name in listed.stdout.split("\0") if name]
    return [p for p in paths if p.is_file() and p.suffix in TEXT_ENDINGS]


def findings(words: tuple[str, ...], paths: list[Path]) -> list[str]:
    found = []
    for path in paths:
        text = path.read_text("utf-8", errors="replace")
        found += [f"{path.name}: {word}" for word in words if word in text]
    return found


def test_no_package_registry_is_named():
    assert findings(HOSTS, tracked_texts()) == []


def test_no_path_of_one_machine_is_named():
    assert findings(MACHINE_PATHS, tracked_texts()) == []


def test_the_search_bites(tmp_path):
    planted = tmp_path / "planted.md"
    planted.write_text("see https://" + HOSTS[0] + " and " + MACHINE_PATHS[0])
    assert len(findings(HOSTS + MACHINE_PATHS, [planted])) == 2


def test_module_names_say_what_they_hold():
    assert [p for p in SOURCES if p.stem in VAGUE] == []


def test_packages_are_two_levels_deep_at_most():
    assert [p for p in SOURCES if len(p.relative_to(SRC).parts) > 2] == []


def test_every_stage_has_one_public_function_as_its_door():
    doors = {
        "tracing": "trace_artwork", "briefing": "list_questions", "planning": "plan_stitches",
        "forecasting": "forecast_sewout", "pricing": "price_job", "paperwork": "draw_papers",
        "stocking": "list_supplies", "scheduling": "plan_day",
    }  # fmt: skip
    for package, name in doors.items():
        tree = ast.parse((SRC / package / "stage.py").read_text("utf-8"))
        functions = [n.name for n in tree.body if isinstance(n, ast.FunctionDef)]
        assert name in functions, package


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: str(p.relative_to(SRC)))
def test_modules_and_functions_stay_readable(path):
    text = path.read_text("utf-8")
    assert text.count("\n") <= LONGEST_MODULE
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            assert code_lines(node) <= LONGEST_FUNCTION, node.name


def code_lines(function: ast.FunctionDef) -> int:
    """Return the length of a function without its docstring."""
    has_text = ast.get_docstring(function) is not None
    first = function.body[1] if has_text and len(function.body) > 1 else function.body[0]
    return (function.end_lineno or 0) - first.lineno + 1


def test_people_read_words_through_gettext_without_f_strings():
    """An f-string inside ``_()`` is never found by the translator's tools."""
    assert [p.name for p in SOURCES if re.search(r"\b_\(\s*f[\"']", p.read_text("utf-8"))] == []
