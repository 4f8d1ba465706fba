"""Where a job's design comes from: a picture prepared on the page, a file, or its last picture.

Input: what was typed. Output: what the page's own pictures are called, and a ``PrepareRequest``.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.web.asking import read_height_mm
from firstpiece.web.run_files import TRAVELLER
from firstpiece.web.work import specs_of

if TYPE_CHECKING:
    from firstpiece.shop.prepare import PrepareRequest
    from firstpiece.web.shop_forms import Typed
    from firstpiece.web.site import Site

MOST_OFFERED = 40


def list_prepared(site: Site) -> tuple[tuple[str, str], ...]:
    """Return the pictures that are prepared on the page: identity of job and run, and words."""
    found = []
    for job in site.folder.jobs()[:MOST_OFFERED]:
        if site.folder.read(job.id, job.run_id, TRAVELLER) is None:
            continue
        asked = site.folder.asked(job.id, job.run_id)
        garment = asked.garment
        if garment in site.cards().names("garments"):
            garment = site.cards().garment(garment).label
        words = _("{label}, {height} high, {garment}").format(
            label=job.label, height=asked.height_text, garment=garment
        )
        found.append((f"{job.id}-{job.run_id}", words))
    return tuple(found)


def read_design(site: Site, typed: Typed) -> PrepareRequest:
    """Return what is to be planned for a job.

    A file comes first, then the prepared picture that was picked, then the job's last picture.

    Raises
    ------
    InputError
        Without a height, or when the picked picture is gone.
    """
    from firstpiece.shop.prepare import PrepareRequest

    chosen = typed.file("picture")
    if chosen is None and typed.text("prepared"):
        return _prepared(site, typed.text("prepared"))
    name, data = chosen or ("", b"")
    height_mm = read_height_mm(typed.needed("height", _("the height")))
    return PrepareRequest(data, name, height_mm, garment=typed.text("garment"))


def _prepared(site: Site, picked: str) -> PrepareRequest:
    from firstpiece.model.region import TraceOptions
    from firstpiece.shop.prepare import PrepareRequest

    job_id, _dash, run_id = picked.partition("-")
    job = site.folder.job(job_id)
    if run_id not in job.runs:
        raise InputError(_("this picture is no longer prepared"), remedy=_("pick it again"))
    asked = site.folder.asked(job_id, run_id)
    return PrepareRequest(
        site.folder.picture(job_id),
        job.label,
        asked.height_mm,
        garment=asked.garment,
        thread=asked.thread,
        options=TraceOptions(n_colors=asked.n_colors),
        specs=specs_of(asked),
    )
