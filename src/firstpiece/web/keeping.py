"""What becomes of a run's design: it is kept with its job in the shop's store, or told why not.

Input: the identities of a finished run. Output: a new revision of the job, or a sentence beside the
run. Runs in the thread that waited for the worker, never in a request.
"""

from __future__ import annotations

import logging
from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import FirstpieceError
from firstpiece.web.run_files import REVISION

if TYPE_CHECKING:
    from collections.abc import Callable

    from firstpiece.model.design import Revision
    from firstpiece.web.job_folder import Asked, JobFolder

_log = logging.getLogger(__name__)


def keep_prepared(folder: JobFolder) -> Callable[[str, str], None]:
    """Return what is called with every run whose design is worked out."""

    def keep(job_id: str, run_id: str) -> None:
        try:
            _keep(folder, job_id, run_id)
        except FirstpieceError as fault:
            wanted = folder.keep(job_id, run_id)
            folder.set_keep(job_id, run_id, replace(wanted, fault=str(fault)))
        except Exception:
            # The design itself is worked out and shown; the log gets all of what went wrong.
            _log.exception("the design of run %s was not kept", run_id)
            sentence = _("Something went wrong inside Firstpiece; the window it runs in says more.")
            folder.set_keep(job_id, run_id, replace(folder.keep(job_id, run_id), fault=sentence))

    return keep


def read_revision(folder: JobFolder, job_id: str, run_id: str) -> Revision | None:
    """Return the design of a run as its job would keep it, or None while there is none."""
    figures = folder.read(job_id, run_id, REVISION)
    if figures is None:
        return None
    from firstpiece.shop.design_keeping import worked_out

    return worked_out(figures, reason=folder.keep(job_id, run_id).reason)


def say_asked(asked: Asked, before: Asked | None) -> str:
    """Return what was asked otherwise than before, as the reason of a revision."""
    if before is None:
        return _("first draft")
    told = []
    if asked.height_mm != before.height_mm:
        told.append(_("{height} high").format(height=asked.height_text))
    if asked.garment != before.garment:
        told.append(_("on {garment}").format(garment=asked.garment))
    if asked.thread != before.thread:
        told.append(_("thread {thread}").format(thread=asked.thread or _("as usual")))
    if asked.n_colors != before.n_colors:
        told.append(_("{n} colours").format(n=asked.n_colors or _("all")))
    if asked.quantity != before.quantity:
        told.append(_("{n} pieces").format(n=asked.quantity))
    if asked.row_spacing_mm != before.row_spacing_mm:
        told.append(_("other row spacing"))
    if (asked.bare_colors, asked.merged) != (before.bare_colors, before.merged):
        told.append(_("as the customer answered"))
    return ", ".join(told) or _("planned again")


def _keep(folder: JobFolder, job_id: str, run_id: str) -> None:
    job, wanted = folder.job(job_id), folder.keep(job_id, run_id)
    revision = read_revision(folder, job_id, run_id)
    if revision is None or not job.number or wanted.is_look:
        return
    from firstpiece.shop.design_keeping import keep_design, keep_tried

    if wanted.seen:
        keep_design(job.number, revision, expected=wanted.seen)
    else:
        keep_tried(job.number, revision)
    # Done again later it is a try like any other.
    folder.set_keep(job_id, run_id, replace(wanted, seen=0, fault=""))
