"""Any value of the model as bytes and back, without ever running code found on disk.

A JSON tree names the value's types from a fixed list; arrays and outlines lie in one block after
it. Reading builds the same frozen values through their own checks.
"""

from __future__ import annotations

import dataclasses
import json
import struct
import zlib
from decimal import Decimal
from enum import Enum
from typing import Any

import numpy as np
import shapely
from moneyed import Money

from firstpiece.model import (
    artwork,
    finding,
    forecast,
    lettering,
    material,
    measured,
    question,
    quote,
    region,
    stitch,
)

_MAGIC = b"FPV1"
_MODULES = (
    artwork,
    finding,
    forecast,
    lettering,
    material,
    measured,
    question,
    quote,
    region,
    stitch,
)
_TYPES: dict[str, type] = {
    kind.__name__: kind
    for module in _MODULES
    for kind in vars(module).values()
    if isinstance(kind, type)
    and kind.__module__ == module.__name__
    and (dataclasses.is_dataclass(kind) or issubclass(kind, Enum))
}


class CodeError(ValueError):
    """The bytes are not a value written here."""


def encode_value(value: object) -> bytes:
    """Return the value as bytes.

    Parameters
    ----------
    value : object
        Made of model values, arrays of numbers, shapely geometry, money, decimals, tuples, lists,
        dicts, text, bytes, numbers, booleans and None.

    Raises
    ------
    TypeError
        When something else is inside.
    """
    block = bytearray()
    tree = json.dumps(_encode(value, block), separators=(",", ":")).encode()
    packed = zlib.compress(struct.pack("<Q", len(tree)) + tree + block, level=1)
    return _MAGIC + packed


def decode_value(data: bytes) -> Any:
    """Return the value of ``encode_value``'s bytes.

    Raises
    ------
    CodeError
        When the bytes are damaged or name a type that is not on the list.
    """
    try:
        if data[:4] != _MAGIC:
            msg = "not a stored value"
            raise CodeError(msg)
        plain = zlib.decompress(data[4:])
        (length,) = struct.unpack_from("<Q", plain)
        tree = json.loads(plain[8 : 8 + length])
        return _decode(tree, memoryview(plain)[8 + length :])
    except CodeError:
        raise
    except (zlib.error, struct.error, ValueError, KeyError, TypeError, shapely.GEOSException) as e:
        msg = "the stored value is damaged"
        raise CodeError(msg) from e


def _encode(value: object, block: bytearray) -> object:
    if isinstance(value, Enum):
        return {"e": [_name(value), value.value]}
    if isinstance(value, np.generic):
        return value.item()
    if value is None or isinstance(value, bool | int | float | str):
        return value
    if isinstance(value, tuple | list):
        mark = "t" if isinstance(value, tuple) else "l"
        return {mark: [_encode(item, block) for item in value]}
    if isinstance(value, dict):
        return {"d": [[_encode(k, block), _encode(v, block)] for k, v in value.items()]}
    if dataclasses.is_dataclass(value):
        fields = dataclasses.fields(value)
        return {"c": [_name(value), {f.name: _encode(getattr(value, f.name), block)
                                     for f in fields}]}  # fmt: skip
    return _encode_leaf(value, block)


def _encode_leaf(value: object, block: bytearray) -> object:
    if isinstance(value, np.ndarray) and value.dtype.kind in "biuf":
        start = _append(block, np.ascontiguousarray(value).tobytes())
        return {"a": [value.dtype.str, list(value.shape), *start]}
    if isinstance(value, shapely.Geometry):
        return {"g": _append(block, shapely.to_wkb(value))}
    if isinstance(value, bytes):
        return {"b": _append(block, value)}
    if isinstance(value, Money):
        return {"m": [str(value.amount), str(value.currency)]}
    if isinstance(value, Decimal):
        return {"n": str(value)}
    msg = f"a {type(value).__name__} cannot be stored"
    raise TypeError(msg)


def _append(block: bytearray, data: bytes) -> list[int]:
    start = len(block)
    block += data
    return [start, len(data)]


def _name(value: object) -> str:
    name = type(value).__name__
    if _TYPES.get(name) is not type(value):
        msg = f"a {name} cannot be stored"
        raise TypeError(msg)
    return name


def _decode(node: Any, block: memoryview) -> Any:
    if not isinstance(node, dict):
        return node
    ((mark, content),) = node.items()
    if mark == "t":
        return tuple(_decode(item, block) for item in content)
    if mark == "l":
        return [_decode(item, block) for item in content]
    if mark == "d":
        return {_decode(k, block): _decode(v, block) for k, v in content}
    if mark == "c":
        fields = {name: _decode(item, block) for name, item in content[1].items()}
        return _TYPES[content[0]](**fields)
    return _decode_leaf(mark, content, block)


def _decode_leaf(mark: str, content: Any, block: memoryview) -> Any:
    if mark == "e":
        return _TYPES[content[0]](content[1])
    if mark == "a":
        kind, shape, start, size = content
        return np.frombuffer(_cut(block, start, size), dtype=kind).reshape(shape)
    if mark == "g":
        return shapely.from_wkb(bytes(_cut(block, *content)))
    if mark == "b":
        return bytes(_cut(block, *content))
    if mark == "m":
        return Money(Decimal(content[0]), content[1])
    if mark == "n":
        return Decimal(content)
    msg = f"unknown mark {mark!r}"
    raise CodeError(msg)


def _cut(block: memoryview, start: int, size: int) -> memoryview:
    if not 0 <= start <= start + size <= len(block):
        msg = "the stored value points outside itself"
        raise CodeError(msg)
    return block[start : start + size]
