"""Where the entries of a TOML text stand, so that a fault can name its line.

In: the text. Out: the line of every table and of every entry in it; the reader of the standard
library gives values only.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from gettext import gettext as _

_TABLE = re.compile(r"\s*\[\[?\s*([\w-]+)\s*\]\]?\s*(#.*)?$")
_ENTRY = re.compile(r"\s*([\w-]+)\s*=")


@dataclass(frozen=True, slots=True)
class LayoutLines:
    """Lines of a text by table, count and entry; ``name`` is what the text is called."""

    name: str
    lines: dict[tuple[str, int, str], int]

    def line(self, table: str, count: int, entry: str = "") -> int:
        """Return the line of an entry, or of its table when the entry is missing; else 1."""
        found = self.lines.get((table, count, entry))
        return found or self.lines.get((table, count, ""), 1)

    def place(self, table: str, count: int, entry: str = "") -> str:
        """Return the place as a fault names it."""
        line = self.line(table, count, entry)
        return _("{name}, line {line}").format(name=self.name, line=line)


@dataclass(frozen=True, slots=True)
class TablePlace:
    """One table of a layout: names the lines of its entries."""

    lines: LayoutLines
    table: str
    count: int

    def __call__(self, entry: str = "") -> str:
        """Return the place of an entry of this table."""
        return self.lines.place(self.table, self.count, entry)


def find_lines(text: str, name: str) -> LayoutLines:
    """Return the lines of a TOML text; the third [[record]] has count 2."""
    lines: dict[tuple[str, int, str], int] = {}
    seen: dict[str, int] = {}
    table, count = "", 0
    for number, line in enumerate(text.splitlines(), start=1):
        if match := _TABLE.match(line):
            table = match[1]
            count = seen.get(table, 0)
            seen[table] = count + 1
            lines[table, count, ""] = number
        elif match := _ENTRY.match(line):
            lines.setdefault((table, count, match[1]), number)
    return LayoutLines(name, lines)
