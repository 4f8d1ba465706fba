"""Print the size of the house: files, lines and the longest module of each package."""

from __future__ import annotations

import sys
from pathlib import Path

SRC = Path(__file__).resolve().parent.parent / "src" / "firstpiece"


def count_lines(folder: Path) -> list[tuple[int, str]]:
    """Return (lines, name) of each module of a package, longest first."""
    modules = ((p.read_text("utf-8").count("\n"), p.stem) for p in folder.glob("*.py"))
    return sorted((m for m in modules if m[1] != "__init__"), reverse=True)


def main() -> int:
    """Print one row a package."""
    total = 0
    sys.stdout.write(f"{'package':14}{'files':>6}{'lines':>7}  longest\n")
    for folder in sorted(p for p in [SRC, *SRC.iterdir()] if p.is_dir()):
        modules = count_lines(folder)
        if not modules:
            continue
        lines = sum(n for n, _name in modules)
        total += lines
        longest = ", ".join(f"{name} {n}" for n, name in modules[:3])
        sys.stdout.write(f"{folder.name:14}{len(modules):6}{lines:7}  {longest}\n")
    sys.stdout.write(f"{'all':14}{'':6}{total:7}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
