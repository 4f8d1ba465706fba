"""Paper: a job to its printed sheets, values in, pages out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from firstpiece.model.paper import PaperJob, Papers, QuestionJob
from firstpiece.paperwork.colorway_pages import draw_contact_sheet
from firstpiece.paperwork.proof import draw_proof
from firstpiece.paperwork.question_sheet import draw_question_sheet
from firstpiece.paperwork.run_sheet import draw_run_sheet

if TYPE_CHECKING:
    from firstpiece.model.page import Page

__all__ = ["PaperJob", "Papers", "QuestionJob", "draw_papers", "draw_questions"]


def draw_papers(job: PaperJob) -> Papers:
    """Return proof and run sheet; where something is open the questions, choices where there are.

    Parameters
    ----------
    job : PaperJob

    Returns
    -------
    Papers
        The same job gives the same pages.
    """
    return Papers(
        proof=draw_proof(job),
        run_sheet=draw_run_sheet(job),
        questions=draw_job_questions(job),
        choices=draw_contact_sheet(job),
    )


def draw_job_questions(job: PaperJob) -> tuple[Page, ...]:
    """Return the question sheet of a job; none when nothing is open."""
    if job.questions is None:
        return ()
    return draw_question_sheet(
        QuestionJob(
            title=job.title,
            region_map=job.region_map,
            questions=job.questions,
            cloth_rgb=job.setup.garment.rgb,
            metrics=job.metrics,
            paper=job.paper,
            unit=job.unit,
        )
    )


def draw_questions(job: QuestionJob) -> tuple[Page, ...]:
    """Return the question sheet alone, before anything is planned; none when nothing is open."""
    return draw_question_sheet(job)
