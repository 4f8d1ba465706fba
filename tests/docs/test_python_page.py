"""The Python page: every block runs, and the chain really is ten lines."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

import firstpiece
from firstpiece import shop
from firstpiece.shop.demo_picture import draw_demo_picture

PAGE = (Path(__file__).parents[2] / "docs" / "python.md").read_text("utf-8")
BLOCKS = re.findall(r"```python\n(.*?)```", PAGE, re.DOTALL)


@pytest.mark.parametrize("block", BLOCKS, ids=lambda b: b.split("import ")[-1].splitlines()[0][:40])
def test_block_runs(block, tmp_path, monkeypatch, capsys):
    (tmp_path / "picture.jpg").write_bytes(draw_demo_picture())
    monkeypatch.chdir(tmp_path)
    if "firstpiece import shop" in block:
        # Whoever reads it has a shop; here it must not be the one of this computer.
        monkeypatch.setenv("FIRSTPIECE_HOME", str(tmp_path / "home"))
    exec(compile(block, "python.md", "exec"), {})
    if "print(" in block:
        assert capsys.readouterr().out.strip()


def test_the_chain_takes_ten_lines():
    lines = [
        line for line in BLOCKS[0].splitlines() if line and not line.startswith(("from", "import"))
    ]
    assert len(lines) <= 10


def test_every_public_name_is_there_and_lazy():
    for name in firstpiece.__all__:
        assert getattr(firstpiece, name) is not None
    with pytest.raises(AttributeError, match="no attribute 'sew'"):
        firstpiece.sew  # noqa: B018


def test_public_names_agree():
    assert set(firstpiece.__all__) == {*firstpiece._HOMES, "__version__"}
    assert dir(firstpiece) == sorted(firstpiece.__all__)


def test_every_function_of_the_shop_is_there_lazy_and_told():
    told = set(re.findall(r"`(\w+)`", PAGE[PAGE.index("## The shop") : PAGE.index("## Faults")]))
    for name in shop.__all__:
        assert getattr(shop, name).__name__ == name
        assert name in told, name
    assert set(shop.__all__) == set(shop._HOMES)
    assert dir(shop) == sorted(shop.__all__)
    with pytest.raises(AttributeError, match="no attribute 'sew'"):
        shop.sew  # noqa: B018
    heavy = "import sys, firstpiece.shop; print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", heavy], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
