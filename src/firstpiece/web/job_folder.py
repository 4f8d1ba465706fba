"""What the page works out for jobs, as plain files that outlive the server and can be looked at.

A draft is one picture of a job of the shop's store; its identity is the hash of both. A run is one
way to sew it; its identity is the hash of what was asked, so asking for the same again finds the
finished answer. The person's file name is kept as a label and never becomes part of a path.

``<root>/<draft>/job.json, picture`` and ``<root>/<draft>/<run>/request.json, state.json, …``
"""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import asdict, dataclass, replace
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
    bare_colors : tuple of (int, int, int)
        Colours of the art left as cloth, at the customer's word.
    merged : tuple of (str, str)
        Threads replaced at the customer's word, each with the one that takes its areas.
    revision : int
        Revision of the job whose other wishes hold here too; 0 for none.
    wishes : str
        Everything wished by hand, as ``wishes`` writes it; empty leaves it to the rest.
    """

    height_mm: float
    height_text: str
    garment: str
    thread: str = ""
    quantity: int = 1
    n_colors: int | None = None
    row_spacing_mm: tuple[tuple[int, float], ...] = ()
    bare_colors: tuple[tuple[int, int, int], ...] = ()
    merged: tuple[tuple[str, str], ...] = ()
    revision: int = 0
    wishes: str = ""

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
            "bare_colors": [list(rgb) for rgb in self.bare_colors],
            "merged": [list(pair) for pair in self.merged],
            "revision": self.revision,
            "wishes": self.wishes,
        }

    @classmethod
    def from_object(cls, content: Object) -> Asked:
        """Return what ``to_object`` wrote."""
        pairs = tuple((int(r), float(v)) for r, v in content["row_spacing_mm"])
        bare = tuple(tuple(rgb) for rgb in content.get("bare_colors", ()))
        merged = tuple((old, new) for old, new in content.get("merged", ()))
        known = {"row_spacing_mm": pairs, "bare_colors": bare, "merged": merged}
        return cls(**{**content, **known})

    def run_id(self) -> str:
        """Return the identity of this run: what was asked, and the program's version."""
        text = json.dumps([self.to_object(), __version__], sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class Keep:
    """What is to become of a run's design.

    Parameters
    ----------
    reason : str
        Why it was made.
    seen : int
        Version of the job it was asked to be kept for; 0 for one that is only tried.
    fault : str
        Why it could not be kept.
    is_look : bool
        True for a design that is in the job already and was only drawn to be looked at.
    """

    reason: str = ""
    seen: int = 0
    fault: str = ""
    is_look: bool = False


@dataclass(frozen=True, slots=True)
class Job:
    """One picture of a job: its identity, its label, its runs (the newest last), the job's number.

    ``number`` is 0 for what an earlier version drafted without a job.
    """

    id: str
    label: str
    runs: tuple[str, ...]
    number: int = 0

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

    def jobs(self, *, most: int | None = None) -> tuple[Job, ...]:
        """Return all drafts, or so many of them, the one touched last first."""
        if not self.root.is_dir():
            return ()
        found = [p for p in self.root.iterdir() if (p / "job.json").is_file()]
        found.sort(key=lambda p: (-(p / "job.json").stat().st_mtime_ns, p.name))
        return tuple(self.job(p.name) for p in found[:most])

    def draft_of(self, number: int, picture_hash: str) -> Job | None:
        """Return the draft of a job's picture, or None when none was begun."""
        job_id = draft_id(number, picture_hash)
        return self.job(job_id) if (self.root / job_id / "job.json").is_file() else None

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
        runs, number = tuple(content["runs"]), int(content.get("number", 0))
        return Job(job_id, str(content["label"]), runs, number)

    def take(self, data: bytes, *, label: str, asked: Asked, number: int = 0) -> Job:
        """Write a picture of a job (once) and make ``asked`` the run that is shown.

        Parameters
        ----------
        data : bytes
            The picture, unread and untrusted.
        label : str
            Its file name, for people.
        asked : Asked
        number : int
            The job's.
        """
        job_id = draft_id(number, hashlib.sha256(data).hexdigest())
        folder = self.root / job_id
        if not (folder / "picture").is_file():
            write_together(folder, {"picture": data})
        return self._show(job_id, label=clean_label(label), asked=asked, number=number)

    def ask_again(self, job: Job, asked: Asked) -> Job:
        """Make ``asked`` the run that is shown."""
        return self._show(job.id, label=job.label, asked=asked, number=job.number)

    def _show(self, job_id: str, *, label: str, asked: Asked, number: int) -> Job:
        run_id = asked.run_id()
        before = _read(self.root / job_id / "job.json") or {"runs": []}
        runs = [r for r in before["runs"] if r != run_id] + [run_id]
        steps, at = _steps(before)
        if not steps or steps[at] != run_id:
            # What was taken back before is left for good once something else is asked.
            steps, at = [*steps[: at + 1], run_id], at + 1
        content = {"label": label, "runs": runs, "number": number, "steps": steps, "at": at}
        _write(self.root / job_id, "job.json", content)
        self.write_asked(job_id, asked)
        return Job(job_id, label, tuple(runs), number)

    def write_asked(self, job_id: str, asked: Asked) -> None:
        """Write what a run is asked for, without showing it yet."""
        folder = self.root / job_id / asked.run_id()
        if not (folder / "request.json").is_file():
            _write(folder, "request.json", asked.to_object())

    def step(self, job: Job, by: int) -> Job:
        """Show the run that was shown so many steps before (below 0) or after."""
        content = _read(self.root / job.id / "job.json") or {}
        steps, at = _steps(content)
        at = max(0, min(len(steps) - 1, at + by))
        runs = [r for r in job.runs if r != steps[at]] + [steps[at]]
        _write(self.root / job.id, "job.json", {**content, "runs": runs, "steps": steps, "at": at})
        return replace(job, runs=tuple(runs))

    def steps(self, job: Job) -> tuple[int, int]:
        """Return how many steps lead back from the run that is shown, and how many forth again."""
        steps, at = _steps(_read(self.root / job.id / "job.json") or {})
        return max(0, at), max(0, len(steps) - 1 - at)

    def keep(self, job_id: str, run_id: str) -> Keep:
        """Return what is to become of a run's design."""
        content = _read(self.path(job_id, run_id) / "keep.json")
        return Keep(**content) if content else Keep()

    def set_keep(self, job_id: str, run_id: str, keep: Keep) -> None:
        """Write what is to become of a run's design."""
        _write(self.path(job_id, run_id), "keep.json", asdict(keep))

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


def draft_id(number: int, picture_hash: str) -> str:
    """Return the identity of a job's picture at work."""
    return hashlib.sha256(f"{number}\n{picture_hash}".encode()).hexdigest()[:16]


def clean_label(name: str) -> str:
    """Return a file name as a one-line label."""
    last = re.split(r"[\\/]", name)[-1]
    shown = "".join(c for c in last if c.isprintable()).strip()
    return shown[:_LABEL_LENGTH] or _("picture")


def _steps(content: Object) -> tuple[list[str], int]:
    """Return the runs in the order they were shown, and which of them is shown now."""
    runs = list(content.get("runs", ()))
    steps = list(content.get("steps", runs[-1:]))
    return steps, int(content.get("at", len(steps) - 1))


def _read(path: Path) -> Object | None:
    try:
        content: Object = json.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        return None
    return content


def _write(folder: Path, name: str, content: Object) -> None:
    text = json.dumps(content, ensure_ascii=False, indent=1)
    write_together(folder, {name: text.encode()})
