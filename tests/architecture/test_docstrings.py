"""Every module opens with its idea; every array a pure function takes or gives has its shape told.

The rule: a parameter annotated with an array has a docstring entry ``name : (shape) dtype`` and a
returned array is described with its shape and dtype. Functions of a few lines may do with one line.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

SRC = Path(__file__).resolve().parents[2] / "src" / "firstpiece"
PURE = (
    "tracing", "briefing", "planning", "forecasting", "pricing", "stocking", "scheduling",
    "paperwork", "calibrating", "editing", "lettering", "model", "geometry", "kernels",
)  # fmt: skip
MODULES = sorted(path for path in SRC.rglob("*.py"))
PURE_MODULES = [path for path in MODULES if path.relative_to(SRC).parts[0] in PURE]
# Lines of code under which one line of docstring is enough.
SHORT_LINES = 8
DTYPE = r"(?:float32|float64|int8|int16|int32|int64|uint8|uint16|uint32|uint64|bool|str|object)"
SHAPE = r"\([^()]*(?:\([^()]*\)[^()]*)*\)"


def array_faults(source: str) -> list[str]:
    """Return the arrays of public functions whose shape or type is not told."""
    tree = ast.parse(source)
    faults = []
    for function in public_functions(tree):
        if is_short(function):
            continue
        text = ast.get_docstring(function) or ""
        arguments = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
        faults += [
            f"{function.name}: parameter {a.arg}"
            for a in arguments
            if is_array(a.annotation) and not tells_parameter(text, a.arg)
        ]
        if is_array(function.returns) and not re.search(rf"{SHAPE}[^\n]*{DTYPE}", text):
            faults.append(f"{function.name}: what it returns")
    return faults


def public_functions(tree: ast.Module) -> list[ast.FunctionDef]:
    classes = [node for node in tree.body if isinstance(node, ast.ClassDef)]
    bodies = [tree.body, *(c.body for c in classes if not c.name.startswith("_"))]
    return [
        node
        for body in bodies
        for node in body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
    ]


def is_short(function: ast.FunctionDef) -> bool:
    text = ast.get_docstring(function) or ""
    lines = (function.end_lineno or 0) - function.body[0].lineno
    return "\n" not in text and lines <= SHORT_LINES


def is_array(annotation: ast.expr | None) -> bool:
    if annotation is None or "Any" in ast.unparse(annotation):
        return False
    return ast.unparse(annotation).startswith(("NDArray", "np.ndarray"))


def tells_parameter(text: str, name: str) -> bool:
    """Whether a numpydoc entry, alone or in a list of names, gives shape and dtype."""
    entry = rf"^[\w, ]*\b{name}\b[\w, ]* : {SHAPE}[^\n]*{DTYPE}"
    return re.search(entry, text, re.MULTILINE) is not None


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(SRC)))
def test_module_opens_with_its_idea(path):
    text = ast.get_docstring(ast.parse(path.read_text("utf-8")))
    assert text
    assert len(text) > 10


@pytest.mark.parametrize("path", PURE_MODULES, ids=lambda p: str(p.relative_to(SRC)))
def test_arrays_tell_their_shape_and_type(path):
    assert array_faults(path.read_text("utf-8")) == []


def test_the_rule_bites():
    told = '''
def count(rows_mm: NDArray[np.float64], *, best: NDArray[np.int64]) -> NDArray[np.uint16]:
    """Return counts.

    Parameters
    ----------
    rows_mm : (n, 2, 2) float64 [mm]
    best : (n,) int64

    Returns
    -------
    (h, w) uint16
    """
    counts = best * 0
    return counts
'''
    assert array_faults(told) == []
    assert array_faults(told.replace("(n,) int64", "array")) == ["count: parameter best"]
    assert array_faults(told.replace("(h, w) uint16", "array")) == []  # another line tells a shape
    untold = "def f(x: NDArray[np.int8]) -> int:\n" + "    y = 1\n" * 10 + "    return y"
    assert array_faults(untold) == ["f: parameter x"]
