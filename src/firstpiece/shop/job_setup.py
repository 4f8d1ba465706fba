"""How a job is set up at the machine: hoop, needle, backing, film, and the place of every line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from firstpiece.errors import CardError
from firstpiece.model.hooping import box_corners, needle_places
from firstpiece.scheduling.set_up import SetUpAdvice, advise_set_up
from firstpiece.shop.cards import open_cards
from firstpiece.shop.job_design import prepare_revision
from firstpiece.shop.job_needs import design_of
from firstpiece.shop.tickets import placement_words

if TYPE_CHECKING:
    from firstpiece.model.design import Revision
    from firstpiece.model.job import Job
    from firstpiece.model.material import Setup
    from firstpiece.model.order import OrderLine


@dataclass(frozen=True, slots=True)
class JobSetUp:
    """Advice for the design's garment, and for each line where the design goes in millimetres."""

    advice: SetUpAdvice
    places: tuple[tuple[OrderLine, str], ...]


def set_up_job(job: Job) -> JobSetUp | None:
    """Return how a job is set up, or None before there is a design or without its cards."""
    revision = design_of(job)
    if revision is None:
        return None
    try:
        setup = open_cards().setup(revision.garment, thread=revision.thread)
    except CardError:
        return None
    return JobSetUp(
        advise_design(job, revision, setup), tuple((line, _place(line)) for line in job.lines)
    )


def advise_design(job: Job, revision: Revision, setup: Setup) -> SetUpAdvice:
    """Return the set-up of a revision.

    Its box clears in most cases and costs nothing. Where it does not, though nothing blocks sewing,
    the design's own outline does: then it is looked at.
    """
    advice = advise_set_up(setup, box_corners(revision.width_mm, revision.height_mm))
    if advice.hoop is None and not revision.blocks_sewing:
        plan = prepare_revision(job, number=revision.number).plan
        advice = advise_set_up(setup, needle_places(plan))
    return advice


def _place(line: OrderLine) -> str:
    try:
        return placement_words(line)
    except CardError as fault:
        return str(fault)
