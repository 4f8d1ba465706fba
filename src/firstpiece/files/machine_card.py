"""A machine card written as TOML into a file of the shop's own cards, other cards left alone.

Input: the file's present text and a machine. Output: the text with that card replaced or added.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from firstpiece.model.material import Machine
    from firstpiece.model.measured import Measured

_MEASURED = ("top_speed", "speed_constant", "trim", "color_change", "start")
_PLAIN = ("needles", "heads", "longest_stitch_mm", "longest_jump_mm", "step_mm")


def put_machine(text: str, machine: Machine) -> str:
    """Return a card file's text with the machine's card in it.

    Parameters
    ----------
    text : str
        TOML of ``machines.toml``; may be empty.
    machine : Machine
    """
    table = re.compile(rf"^\[{re.escape(machine.name)}\][^\n]*\n(?:(?!\[).*\n?)*", re.MULTILINE)
    rest = table.sub("", text).strip()
    return f"{rest}\n\n{_card(machine)}" if rest else _card(machine)


def _card(machine: Machine) -> str:
    lines = [f"[{machine.name}]", f"label = {_quoted(machine.label)}"]
    lines += [f"{name} = {getattr(machine, name)!r}" for name in _PLAIN]
    lines += [f"{name} = {_number(getattr(machine, name))}" for name in _MEASURED]
    return "\n".join(lines) + "\n"


def _number(number: Measured) -> str:
    values = ", ".join(
        f"{name} = {float(f'{getattr(number, name):.6g}')!r}" for name in ("value", "low", "high")
    )
    return f"{{ {values}, unit = {_quoted(number.unit)}, source = {_quoted(number.source)} }}"


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
