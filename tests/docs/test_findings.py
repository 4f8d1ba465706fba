"""Every finding code and remedy verb in the source stands in docs/findings.md, and no more."""

import ast
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "firstpiece"
PAGE = (ROOT / "docs" / "findings.md").read_text("utf-8")


def first_argument(call, keyword):
    """The node given for the first parameter, by place or by name."""
    named = [k.value for k in call.keywords if k.arg == keyword]
    return (call.args or named or [None])[0]


def calls_of(tree, name):
    return [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == name
    ]


def texts_of(tree, node):
    """The strings a node can stand for: itself, a constant, a first parameter of a function."""
    if isinstance(node, ast.Constant):
        return {node.value}
    if isinstance(node, ast.IfExp):
        return texts_of(tree, node.body) | texts_of(tree, node.orelse)
    found = set()
    for top in ast.walk(tree):
        if isinstance(top, ast.Assign) and any(
            getattr(target, "id", "") == node.id for target in top.targets
        ):
            found |= texts_of(tree, top.value)
        if isinstance(top, ast.FunctionDef) and top.args.args and top.args.args[0].arg == node.id:
            for call in calls_of(tree, top.name):
                found |= texts_of(tree, first_argument(call, node.id))
    found = found or coded_words_near(tree, node)
    assert found, f"cannot tell the code of a finding: {ast.unparse(node)}"
    return found


def coded_words_near(tree, node):
    """The hyphened words of the function that holds a node: codes kept in a table there."""
    for top in ast.walk(tree):
        if isinstance(top, ast.FunctionDef) and node in ast.walk(top):
            constants = [n.value for n in ast.walk(top) if isinstance(n, ast.Constant)]
            return {c for c in constants if re.fullmatch(r"[a-z]+(-[a-z]+)+", str(c))}
    return set()


def codes_in(text):
    tree = ast.parse(text)
    return {
        code
        for call in calls_of(tree, "Finding")
        for code in texts_of(tree, first_argument(call, "code"))
    }


def all_codes():
    return set().union(*(codes_in(path.read_text("utf-8")) for path in SOURCE.rglob("*.py")))


def listed_codes():
    return set(re.findall(r"^\| `([a-z-]+)` \|", PAGE, re.MULTILINE))


def test_every_code_is_listed_and_every_listed_code_exists():
    assert listed_codes() == all_codes()


def test_codes_are_lower_case_words():
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", code) for code in all_codes())


def test_every_remedy_verb_is_listed():
    verbs = set()
    for path in SOURCE.rglob("*.py"):
        for call in calls_of(ast.parse(path.read_text("utf-8")), "Remedy"):
            named = [k.value for k in call.keywords if k.arg == "action"]
            node = call.args[1] if len(call.args) > 1 else (named or [None])[0]
            if isinstance(node, ast.Constant):
                verbs.add(node.value)
    assert "spacing" in verbs
    listed = set(re.findall(r"`([a-z_]+)`", PAGE.rpartition("Remedies act by these verbs")[2]))
    assert verbs <= listed


def test_the_search_finds_codes_however_they_are_given():
    text = (
        'CODE = "a-b"\n'
        "def note(code, n):\n    return Finding(code, 1, n)\n"
        'note("c-d", "x")\nFinding(CODE, 1, "y")\nFinding(code="e", severity=1)\n'
        'def table():\n    rows = {1: ("f-g", "z")}\n'
        "    return [Finding(c, 1, w) for c, w in rows.values()]\n"
    )
    assert codes_in(text) == {"a-b", "c-d", "e", "f-g"}
