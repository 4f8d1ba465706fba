"""Imports point down only, and asking for help loads nothing heavy."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
HEAVY = ("numba", "scipy", "numpy", "shapely", "cv2", "skimage", "fastapi", "sqlalchemy", "rich")


def run(*command: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


def test_import_floors_are_kept():
    result = run(str(Path(sys.executable).with_name("lint-imports")), "--no-cache")
    assert result.returncode == 0, result.stdout[-3000:]
    assert "0 broken" in result.stdout


def test_a_breach_of_the_floors_is_seen(tmp_path):
    """The same contracts turned against an import that exists must fail, or they guard nothing."""
    config = tmp_path / "turned.ini"
    config.write_text(
        "[importlinter]\nroot_package = firstpiece\n\n[importlinter:contract:turned]\n"
        "name = turned\ntype = layers\ncontainers = firstpiece\nlayers =\n    model\n    pricing\n"
    )
    linter = str(Path(sys.executable).with_name("lint-imports"))
    result = run(linter, "--no-cache", "--config", str(config))
    assert result.returncode == 1
    assert "1 broken" in result.stdout


@pytest.mark.parametrize("arguments", [["--help"], ["prepare", "--help"], ["--version"]])
def test_help_loads_nothing_heavy(arguments):
    script = (
        "import sys\nfrom firstpiece.__main__ import main\n"
        f"code = main({arguments!r})\n"
        f"heavy = [m for m in {HEAVY!r} if m in sys.modules]\n"
        "print('loaded:', heavy, 'code:', code)\n"
    )
    result = run(sys.executable, "-c", script)
    assert result.stdout.rstrip().endswith("loaded: [] code: 0"), result.stdout + result.stderr
