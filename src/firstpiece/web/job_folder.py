"""Jobs of the local page as plain files, so that they outlive the server and can be looked at.

A job is a picture; its identity is the hash of the picture's bytes. A run is one way to sew it; its
identity is the hash of what was asked, so asking for the same again finds the finished answer. The
person's file name is kept as a label and never becomes part of a path.

``<root>/<job>/job.json, picture`` and ``<root>/<job>/<run>/request.json, state.json, …``
"""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece import __version__
from firstpiece.errors import InputError
from firstpiece.files.safe_write import write_together

if TYPE_CHECKING:
    from pathlib import Path

Object = dict[str, Any]

IDLE, RUNNING, DONE = "idle", "running", "done"
FAILED, STOPPED, INTERRUPTED = "failed", "stopped", "interrupted"

_ID = re.compile(r"[0-9a-f]{16}")
_LABEL_LENGTH = 80


@dataclass(frozen=True, slots=True)
class Asked:
    """How one run is to be sewn.

    Parameters
    ----------
    height_mm : float [mm]
    height_text : str
        The height as the person typed it, shown again.
    garment, thread : str
        Card names; an empty thread means the garment's usual one.
    quantity : int
    n_colors : int or None
        None lets the picture decide.
    row_spacing_mm : tuple of (int, float)
        Areas whose row spacing a remedy changed.
    """

    height_mm: float
    height_text: str
    garment: str
    thread: str = ""
    quantity: int = 1
    n_colors: int | None = None
    row_spacing_mm: tuple[tuple[int, float], ...] = ()

    def to_object(self) -> Object:
        """Return plain values for JSON."""
        return {
            "height_mm": self.height_mm,
            "height_text": self.height_text,
            "garment": self.garment,
            "thread": self.thread,
            "quantity": self.quantity,
            "n_colors": self.n_colors,
            "row_spacing_mm": [list(pair) for pair in self.row_spacing_mm],
        }

    @classmethod
    def from_object(cls, content: Object) -> Asked:
        """Return what ``to_object`` wrote."""
        pairs = tuple((int(r), float(v)) for r, v in content["row_spacing_mm"])
        return cls(**{**content, "row_spacing_mm": pairs})

    def run_id(self) -> str:
        """Return the identity of this run: what was asked, and the program's version."""
        text = json.dumps([self.to_object(), __version__], sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class Job:
    """One picture: its identity, its label and its runs, the newest last."""

    id: str
    label: str
    runs: tuple[str, ...]

    @property
    def run_id(self) -> str:
        """The run that is shown."""
        return self.runs[-1]


class JobFolder:
    """The folder of all jobs.

    Parameters
    ----------
    root : pathlib.Path
        Made when the first job is written.
    """

    def __init__(self, root: Path) -> None:
        self.root = root

    def jobs(self) -> tuple[Job, ...]:
        """Return all jobs, the one touched last first."""
        if not self.root.is_dir():
            return ()
        found = [p for p in self.root.iterdir() if (p / "job.json").is_file()]
        found.sort(key=lambda p: (-(p / "job.json").stat().st_mtime_ns, p.name))
        return tuple(self.job(p.name) for p in found)

    def job(self, job_id: str) -> Job:
        """Return one job.

        Raises
        ------
        UnknownJobError
            When there is no such job.
        """
        content = _read(self.path(job_id) / "job.json")
        if content is None:
            raise _unknown_job()
        return Job(job_id, str(content["label"]), tuple(content["runs"]))

    def take(self, data: bytes, *, label: str, asked: Asked) -> Job:
        """Write a picture (once) and make ``asked`` the run that is shown.

        Parameters
        ----------
        data : bytes
            The picture, unread and untrusted.
        label : str
            Its file name, for people.
        asked : Asked
        """
        job_id = hashlib.sha256(data).hexdigest()[:16]
        folder = self.root / job_id
        if not (folder / "picture").is_file():
            write_together(folder, {"picture": data})
        return self._show(job_id, label=_clean_label(label), asked=asked)

    def ask_again(self, job: Job, asked: Asked) -> Job:
        """Make ``asked`` the run that is shown."""
        return self._show(job.id, label=job.label, asked=asked)

    def _show(self, job_id: str, *, label: str, asked: Asked) -> Job:
        run_id = asked.run_id()
        before = _read(self.root / job_id / "job.json") or {"runs": []}
        runs = [r for r in before["runs"] if r != run_id] + [run_id]
        _write(self.root / job_id, "job.json", {"label": label, "runs": runs})
        folder = self.root / job_id / run_id
        if not (folder / "request.json").is_file():
            _write(folder, "request.json", asked.to_object())
        return Job(job_id, label, tuple(runs))

    def picture(self, job_id: str) -> bytes:
        """Return the picture's bytes as they arrived."""
        return (self.path(job_id) / "picture").read_bytes()

    def asked(self, job_id: str, run_id: str) -> Asked:
        """Return what a run was asked for."""
        content = _read(self.path(job_id, run_id) / "request.json")
        if content is None:
            raise _unknown_job()
        return Asked.from_object(content)

    def state(self, job_id: str, run_id: str, kind: str = "prepare") -> Object:
        """Return ``{"status", "fraction", "stage", "fault"}`` of a task of a run."""
        content = _read(self.path(job_id, run_id) / f"{_checked(kind)}-state.json")
        return content or {"status": IDLE, "fraction": 0.0, "stage": "", "fault": ""}

    def set_state(
        self, job_id: str, run_id: str, kind: str, *, status: str, fault: str = ""
    ) -> None:
        """Write the state of a task of a run."""
        content = {"status": status, "fraction": 0.0, "stage": "", "fault": fault}
        _write(self.path(job_id, run_id), f"{_checked(kind)}-state.json", content)

    def interrupt_all(self) -> None:
        """Mark every task that a dead server left unfinished; called once at start."""
        for job in self.jobs():
            for run_id in job.runs:
                for path in self.path(job.id, run_id).glob("*-state.json"):
                    kind = path.name.removesuffix("-state.json")
                    if self.state(job.id, run_id, kind)["status"] == RUNNING:
                        self.set_state(job.id, run_id, kind, status=INTERRUPTED)

    def read(self, job_id: str, run_id: str, name: str) -> Object | None:
        """Return a JSON file of a run, or None while it is not there."""
        return _read(self.path(job_id, run_id) / name)

    def path(self, job_id: str, run_id: str = "") -> Path:
        """Return the folder of a job or a run; the identities come from outside, so check them.

        Raises
        ------
        UnknownJobError
            When an identity is not one of ours.
        """
        if not _ID.fullmatch(job_id) or (run_id and not _ID.fullmatch(run_id)):
            raise _unknown_job()
        return self.root / job_id / run_id if run_id else self.root / job_id


class UnknownJobError(InputError):
    """A job, a run or a file of one that does not exist."""


def _checked(kind: str) -> str:
    if not kind.isalpha():
        raise _unknown_job()
    return kind


def _unknown_job() -> InputError:
    return UnknownJobError(
        _("there is no such job"), remedy=_("go back to the list of jobs and choose one")
    )


def _clean_label(name: str) -> str:
    """Return a file name as a one-line label."""
    last = re.split(r"[\\/]", name)[-1]
    shown = "".join(c for c in last if c.isprintable()).strip()
    return shown[:_LABEL_LENGTH] or _("picture")


def _read(path: Path) -> Object | None:
    try:
        content: Object = json.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        return None
    return content


def _write(folder: Path, name: str, content: Object) -> None:
    text = json.dumps(content, ensure_ascii=False, indent=1)
    write_together(folder, {name: text.encode()})
