"""Firstpiece: from a customer's rough picture to an agreed, forecast and priced embroidery job.

The names below are loaded when first used, so that ``import firstpiece`` itself costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from firstpiece.errors import FirstpieceError
    from firstpiece.units import parse_length_mm

__version__ = "0.1.0"

_HOMES = {
    "FirstpieceError": "firstpiece.errors",
    "parse_length_mm": "firstpiece.units",
}

__all__ = ["FirstpieceError", "__version__", "parse_length_mm"]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        msg = f"module 'firstpiece' has no attribute {name!r}"
        raise AttributeError(msg)
    value = getattr(import_module(_HOMES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
