"""The list that goes with handed-over programs: each file's size and SHA-256, and its plan's hash.

Written beside the files as ``….manifest.json``; whoever receives them can check each one.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

MANIFEST_NAME = "manifest.json"
VERSION = 1


@dataclass(frozen=True, slots=True)
class ManifestEntry:
    """One file: its name, bytes, SHA-256 in hex."""

    name: str
    n_bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """What was handed over: the design's words, the plan's hash, the files."""

    design: str
    plan_id: str
    entries: tuple[ManifestEntry, ...]


def make_manifest(design: str, plan_id: str, contents: Mapping[str, bytes]) -> Manifest:
    """Return the manifest of files by name."""
    entries = [
        ManifestEntry(name, len(data), hashlib.sha256(data).hexdigest())
        for name, data in contents.items()
    ]
    return Manifest(design, plan_id, tuple(entries))


def write_manifest(manifest: Manifest) -> str:
    """Return the manifest as text."""
    return json.dumps(
        {
            "version": VERSION,
            "kind": "programs",
            "design": manifest.design,
            "plan_id": manifest.plan_id,
            "files": [
                {"name": e.name, "bytes": e.n_bytes, "sha256": e.sha256} for e in manifest.entries
            ],
        },
        ensure_ascii=False,
        indent=1,
    ) + "\n"  # fmt: skip


def read_manifest(text: str) -> Manifest:
    """Return a manifest from its text.

    Raises
    ------
    InputError
    """
    try:
        table = json.loads(text)
        if table["version"] != VERSION:
            msg = "version"
            raise ValueError(msg)
        entries = tuple(
            ManifestEntry(str(f["name"]), int(f["bytes"]), str(f["sha256"])) for f in table["files"]
        )
        return Manifest(str(table["design"]), str(table["plan_id"]), entries)
    except (ValueError, KeyError, TypeError) as fault:
        raise InputError(
            _("this is not a manifest of programs"),
            where=MANIFEST_NAME,
            remedy=_("hand the programs over again"),
        ) from fault


def differing_files(manifest: Manifest, contents: Mapping[str, bytes]) -> tuple[str, ...]:
    """Return the names of files that are missing or not as the manifest says."""
    return tuple(
        e.name
        for e in manifest.entries
        if e.name not in contents or hashlib.sha256(contents[e.name]).hexdigest() != e.sha256
    )
