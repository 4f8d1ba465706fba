"""Files onto a drive that may be pulled out: written, forced to the drive, read back, compared.

In: a folder, contents by name. Out: the paths, each checked byte by byte after the system was told
to forget what it had just written.
"""

from __future__ import annotations

import os
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import OutputError
from firstpiece.files.safe_write import write_together

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path


def write_verified(folder: Path, contents: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write files all together and read each back.

    Raises
    ------
    OutputError
        When the folder cannot be written to, or the drive gives back other bytes.
    """
    paths = write_together(folder, contents)
    for path in (*paths, folder):
        _force_out(path)
    for path, wanted in zip(paths, contents.values(), strict=True):
        verify_file(path, wanted)
    return paths


def verify_file(path: Path, wanted: bytes) -> None:
    """Raise OutputError unless a file holds exactly these bytes."""
    try:
        found = path.read_bytes()
    except OSError as fault:
        raise _refusal(path) from fault
    if found != wanted:
        raise _refusal(path)


def _force_out(path: Path) -> None:
    """Force a file or folder to the drive, and let the system forget its copy in memory."""
    flags = os.O_RDONLY
    try:
        handle = os.open(path, flags)
    except OSError:
        # Some systems do not open folders; the files themselves are forced out all the same.
        return
    try:
        os.fsync(handle)
        if hasattr(os, "posix_fadvise"):
            os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)
    except OSError:
        # Drives that cannot be forced are still read back and compared.
        return
    finally:
        os.close(handle)


def _refusal(path: Path) -> OutputError:
    return OutputError(
        _("the drive gives back other bytes than were written"),
        where=str(path),
        remedy=_("do not sew from it; use another drive"),
    )
