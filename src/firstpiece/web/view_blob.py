"""The stitch plan packed for the browser's thread view: small, exact to 0.01 mm, quick to unpack.

Input: a ``StitchPlan`` and its ``Setup``. Output: bytes of our own layout "FPV2" (below), gzipped
by ``compress_view_blob`` so that the same plan always gives the same bytes.

Layout, little-endian: magic ``FPV2``; uint32 flags (bit 0: steps are int32); uint32 n points;
uint32 t threads; float32 unit [mm]; float32 laid width [mm]; uint32 cloth 0xRRGGBB; uint32 weave
code; t × uint32 thread 0xRRGGBB; then planar columns: n x-steps, n y-steps (int16 or int32, in
units, the first from the origin), n int16 areas (-1: none), n uint8 thread indices, n uint8 marks
(bit 0: thread lies from the row before to this one; bits 1–2: ``Role``; bits 3–5: ``Action``).
"""

from __future__ import annotations

import gzip
import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.material import Weave

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import RGB, Setup
    from firstpiece.model.stitch import StitchPlan

MAGIC = b"FPV2"
UNIT_MM = 0.01
WIDE_STEPS = 1

_HEADER = struct.Struct("<4sIIIffII")
_WEAVES = tuple(Weave)
_INT16 = np.iinfo(np.int16)


@dataclass(frozen=True, slots=True, eq=False)
class ViewBlob:
    """What a blob holds, unpacked; the twin of the browser's reader.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
    area : (n,) int16
    thread : (n,) uint8
    marks : (n,) uint8
    threads : tuple of RGB
    laid_width_mm : float [mm]
    cloth : RGB
    weave : Weave
    """

    xy_mm: NDArray[np.float64]
    area: NDArray[np.int16]
    thread: NDArray[np.uint8]
    marks: NDArray[np.uint8]
    threads: tuple[RGB, ...]
    laid_width_mm: float
    cloth: RGB
    weave: Weave


def write_view_blob(plan: StitchPlan, *, setup: Setup) -> bytes:
    """Return the plan as an uncompressed "FPV2" blob.

    Parameters
    ----------
    plan : StitchPlan
    setup : Setup
        Gives the laid width of the thread, the cloth's colour and its weave.

    Returns
    -------
    bytes

    Raises
    ------
    ValueError
        When the plan has more than 256 threads (a thread index is one byte).
    """
    if len(plan.threads) > 256:
        msg = "a view blob holds at most 256 threads"
        raise ValueError(msg)
    units = np.rint(plan.xy_mm / UNIT_MM).astype(np.int64)
    steps = np.diff(units, axis=0, prepend=np.zeros((1, 2), np.int64))
    is_wide = bool(len(steps)) and (steps.min() < _INT16.min or steps.max() > _INT16.max)
    columns = np.ascontiguousarray(steps.T, dtype="<i4" if is_wide else "<i2")
    marks = ((plan.action << 3) | (plan.role << 1)).astype(np.uint8)
    marks[plan.sewn_segments()] |= 1
    header = _HEADER.pack(
        MAGIC,
        WIDE_STEPS if is_wide else 0,
        len(units),
        len(plan.threads),
        UNIT_MM,
        setup.thread.laid_width_mm,
        _packed(setup.garment.rgb),
        _WEAVES.index(setup.fabric.weave),
    )
    palette = np.array([_packed(t.rgb) for t in plan.threads], dtype="<u4")
    # Areas beyond the column's range have no name in the view; no design has so many.
    area = np.where(plan.region_id <= _INT16.max, plan.region_id, -1).astype("<i2")
    parts = (palette, columns, area, plan.thread.astype(np.uint8), marks)
    return header + b"".join(part.tobytes() for part in parts)


def compress_view_blob(blob: bytes) -> bytes:
    """Return the blob gzipped without a time stamp, so that equal plans give equal bytes."""
    return gzip.compress(blob, compresslevel=6, mtime=0)


def read_view_blob(blob: bytes) -> ViewBlob:
    """Return what an uncompressed blob holds.

    Raises
    ------
    ValueError
        When the bytes are not a whole "FPV2" blob.
    """
    if len(blob) < _HEADER.size or blob[:4] != MAGIC:
        msg = "these bytes are not a view blob"
        raise ValueError(msg)
    _, flags, n, n_threads, unit, laid, cloth, weave = _HEADER.unpack_from(blob)
    step = np.dtype("<i4" if flags & WIDE_STEPS else "<i2")
    at = _HEADER.size + 4 * n_threads
    if len(blob) != at + n * (2 * step.itemsize + 4):
        msg = "the view blob is cut short or too long"
        raise ValueError(msg)
    palette = np.frombuffer(blob, "<u4", n_threads, _HEADER.size)
    steps = np.frombuffer(blob, step, 2 * n, at).reshape(2, n).T.astype(np.int64)
    at += 2 * n * step.itemsize
    return ViewBlob(
        xy_mm=(np.cumsum(steps, axis=0) * round(float(unit), 6)).astype(np.float64),
        area=np.frombuffer(blob, "<i2", n, at),
        thread=np.frombuffer(blob, np.uint8, n, at + 2 * n),
        marks=np.frombuffer(blob, np.uint8, n, at + 3 * n),
        threads=tuple(_unpacked(int(code)) for code in palette),
        laid_width_mm=laid,
        cloth=_unpacked(cloth),
        weave=_WEAVES[weave],
    )


def _packed(rgb: RGB) -> int:
    return rgb[0] << 16 | rgb[1] << 8 | rgb[2]


def _unpacked(code: int) -> RGB:
    return (code >> 16 & 255, code >> 8 & 255, code & 255)
