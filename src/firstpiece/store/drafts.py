"""The drafts that the page works on: a folder a picture of a job, which names the job it is for."""

from __future__ import annotations

import json
import shutil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path

HEAD = "job.json"
"""In each folder; its ``number`` is the job's."""


def forget_drafts(folder: Path, jobs: Collection[int]) -> tuple[str, ...]:
    """Delete the drafts of some jobs and return the names of their folders."""
    gone = []
    for head in sorted(folder.glob(f"*/{HEAD}")):
        if json.loads(head.read_text("utf-8")).get("number", 0) in jobs:
            shutil.rmtree(head.parent)
            gone.append(head.parent.name)
    return tuple(gone)
