"""How a job is set up at the machine: hoop, needle, backing, film, and the place of every line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from firstpiece.errors import CardError
from firstpiece.scheduling.set_up import SetUpAdvice, advise_set_up
from firstpiece.shop.cards import open_cards
from firstpiece.shop.job_needs import design_of
from firstpiece.shop.tickets import placement_words

if TYPE_CHECKING:
    from firstpiece.model.job import Job
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
    size_mm = (revision.width_mm, revision.height_mm)
    return JobSetUp(
        advise_set_up(setup, size_mm), tuple((line, _place(line)) for line in job.lines)
    )


def _place(line: OrderLine) -> str:
    try:
        return placement_words(line)
    except CardError as fault:
        return str(fault)
