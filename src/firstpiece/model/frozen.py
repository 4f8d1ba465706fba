"""Read-only arrays for frozen values, and one content hash over any model value."""

from __future__ import annotations

import dataclasses
import hashlib
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import DTypeLike, NDArray


def frozen_array(value: object, dtype: DTypeLike, shape: tuple[int | None, ...]) -> NDArray[Any]:
    """Return a C-contiguous read-only copy-if-needed of ``value`` with the wanted type and shape.

    Parameters
    ----------
    value : array_like
    dtype : dtype
    shape : tuple
        Wanted shape; ``None`` leaves an axis free.

    Raises
    ------
    ValueError
        When the shape differs or a number is not finite.
    """
    array = np.ascontiguousarray(value, dtype=dtype)
    if array.ndim != len(shape) or any(
        want is not None and want != have for want, have in zip(shape, array.shape, strict=True)
    ):
        msg = f"an array of shape {array.shape} was given where {shape} is wanted"
        raise ValueError(msg)
    if array.dtype.kind == "f" and not np.isfinite(array).all():
        msg = "an array holds a number that is not finite"
        raise ValueError(msg)
    if array.flags.writeable:
        array = array.copy() if array is value else array
        array.setflags(write=False)
    return array


def content_hash(*values: object) -> str:
    """Return 64 hex digits that depend on content alone, not on memory or dictionary order."""
    digest = hashlib.sha256()
    for value in values:
        _feed(digest, value)
    return digest.hexdigest()


def _feed(digest: hashlib._Hash, value: object) -> None:
    """Add one value to the digest, with a type mark so that 1, "1" and (1,) differ."""
    digest.update(type(value).__name__.encode() + b"\x00")
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        for field in dataclasses.fields(value):
            digest.update(field.name.encode() + b"=")
            _feed(digest, getattr(value, field.name))
    elif isinstance(value, np.ndarray):
        digest.update(f"{value.dtype.str}{value.shape}".encode())
        digest.update(np.ascontiguousarray(value).tobytes())
    elif isinstance(value, shapely.Geometry):
        digest.update(shapely.to_wkb(value))
    elif isinstance(value, dict):
        _feed(digest, sorted(value.items(), key=lambda item: repr(item[0])))
    elif isinstance(value, list | tuple):
        digest.update(str(len(value)).encode())
        for item in value:
            _feed(digest, item)
    elif isinstance(value, bytes):
        digest.update(value)
    else:
        digest.update(repr(value).encode())
    digest.update(b"\x01")
