"""Handing programs over to the machine: names that say what a file is, a manifest, a checked copy.

In: contents by kind and what they belong to. Out: files on a folder or a drive, read back after
writing, beside a manifest with their hashes.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.files.drive_copy import write_verified
from firstpiece.files.program_manifest import (
    MANIFEST_NAME,
    Manifest,
    differing_files,
    make_manifest,
    read_manifest,
    write_manifest,
)

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

LONGEST_STEM = 60
# Names that some systems keep for devices, whatever ending follows.
_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class DesignMark:
    """What a program belongs to: the job's title, revision, height, colourway, plan hash."""

    title: str
    plan_id: str
    height_mm: float
    revision: int = 0
    colorway: str = ""

    @property
    def words(self) -> str:
        """The design for a reader."""
        parts = [self.title]
        if self.revision:
            parts.append(_("revision {n}").format(n=self.revision))
        parts.append(_("{height:.0f} mm").format(height=self.height_mm))
        return ", ".join([*parts, self.colorway] if self.colorway else parts)


@dataclass(frozen=True, slots=True)
class HandedOver:
    """What was written and read back."""

    paths: tuple[Path, ...]
    manifest: Manifest


def file_stem(mark: DesignMark) -> str:
    """Return a name without ending that any drive takes: job-r2-90mm-colourway-hash.

    Letters are brought to plain ASCII where they can be, everything else becomes a hyphen; the
    plan's hash is always kept whole, so two designs never share a name.
    """
    parts = [_plain(mark.title) or "design"]
    if mark.revision:
        parts.append(f"r{mark.revision}")
    parts.append(f"{mark.height_mm:.0f}mm")
    if colorway := _plain(mark.colorway):
        parts.append(colorway)
    stem = "-".join(parts)[: LONGEST_STEM - len(mark.plan_id) - 1].strip("-")
    stem = f"{stem}-{mark.plan_id}"
    return f"x{stem}" if _RESERVED.match(stem) else stem


def _plain(text: str) -> str:
    split = unicodedata.normalize("NFKD", text.replace("ß", "ss"))
    ascii_only = "".join(c for c in split if not unicodedata.combining(c))
    return re.sub(r"[^a-z0-9]+", "-", ascii_only.lower()).strip("-")


def hand_over(folder: Path, contents: Mapping[str, bytes], mark: DesignMark) -> HandedOver:
    """Write files and their manifest into a folder or onto a drive, and read them back.

    Parameters
    ----------
    folder : pathlib.Path
        Made when missing; its other files are left alone.
    contents : mapping of str to bytes
        By file name.
    mark : DesignMark

    Raises
    ------
    OutputError
        When the folder cannot be written to, or gives back other bytes.
    """
    manifest = make_manifest(mark.words, mark.plan_id, contents)
    name = f"{next(iter(contents))}.{MANIFEST_NAME}"
    paths = write_verified(folder, {**contents, name: write_manifest(manifest).encode()})
    return HandedOver(paths, manifest)


def check_folder(path: Path) -> Manifest:
    """Return the manifest at a path after checking the files beside it.

    Raises
    ------
    InputError
        When it is no manifest, or a file is missing or differs.
    """
    try:
        manifest = read_manifest(path.read_text("utf-8"))
    except (OSError, UnicodeDecodeError) as fault:
        raise InputError(
            _("the manifest cannot be read"), where=str(path), remedy=_("hand over again")
        ) from fault
    beside = {e.name: path.parent / e.name for e in manifest.entries}
    contents = {name: file.read_bytes() for name, file in beside.items() if file.is_file()}
    if wrong := differing_files(manifest, contents):
        raise InputError(
            _("{names} is missing or not what was handed over").format(names=", ".join(wrong)),
            where=str(path.parent),
            remedy=_("do not sew from it; hand over again"),
        )
    return manifest
