"""A job's design in its colourways: the threads swapped, and the hash each carries.

In: a job. Out: the plan in a colourway, and the plan hash of every colourway that was agreed. The
stitches are the same, but the hash is of stitches and threads: ticket, run sheet and program of one
colourway agree with each other and with no other.
"""

from __future__ import annotations

from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import JobError
from firstpiece.shop.cards import open_cards
from firstpiece.shop.job_design import prepare_revision
from firstpiece.shop.job_needs import design_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from firstpiece.model.job import Job
    from firstpiece.model.stitch import StitchPlan


def in_colorway_of(job: Job, plan: StitchPlan, name: str) -> StitchPlan:
    """Return a job's plan in one of its colourways; an empty name is the design's own threads.

    Raises
    ------
    JobError
        When there is no such colourway, or its threads do not fit the plan or the rack.
    """
    if not name:
        return plan
    where = _("job {number}").format(number=job.id)
    ways = job.agreed.colorways if job.agreed is not None else job.colorways
    colorway = next((c for c in (*ways, *job.colorways) if c.name == name), None)
    if colorway is None:
        known = ", ".join(c.name for c in job.colorways) or _("none")
        raise JobError(
            _("there is no colourway “{name}”").format(name=name[:40]),
            where=where,
            remedy=_("its colourways are: {names}").format(names=known),
        )
    design = design_of(job)
    assert design is not None
    rack = {t.name: t for t in open_cards().thread(design.thread).colors}
    missing = [t for t in colorway.threads if t not in rack]
    if missing or len(colorway.threads) != len(plan.threads):
        raise JobError(
            _(
                "colourway “{name}” names {n} threads for {m} of the plan, unknown: {missing}"
            ).format(
                name=name,
                n=len(colorway.threads),
                m=len(plan.threads),
                missing=", ".join(missing) or _("none"),
            ),
            where=where,
            remedy=_("set the colourway again"),
        )
    return replace(plan, threads=tuple(rack[t] for t in colorway.threads))


def agreed_plan_ids(job: Job) -> Mapping[str, str]:
    """Return the plan hash of each colourway that the agreed lines name; empty before a yes.

    Raises
    ------
    JobError
        See ``in_colorway_of``.
    """
    if job.agreed is None:
        return {}
    names = dict.fromkeys(line.colorway for line in job.agreed.lines)
    plan = None
    found = {"": job.agreed.plan_id}
    for name in names:
        if name:
            plan = plan or prepare_revision(job, number=job.agreed.revision).plan
            found[name] = in_colorway_of(job, plan, name).content_id()
    return found
