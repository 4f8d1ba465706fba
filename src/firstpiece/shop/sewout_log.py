"""The sew-out log: how each sew-out went, and how a garment sewed before.

Input: photos and what the person at the machine saw. Output: entries of the job's log, linked to
the exact plan and to what the cards said when it was sewn.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import CardError, JobError
from firstpiece.files.picture import read_artwork
from firstpiece.files.picture_strip import strip_picture
from firstpiece.model import job_rules as rules
from firstpiece.model.frozen import content_hash
from firstpiece.model.sewout import SewOut, SewOutPhoto
from firstpiece.shop.book import open_book
from firstpiece.shop.cards import open_cards
from firstpiece.shop.job_book import act, read_job
from firstpiece.shop.job_needs import design_of
from firstpiece.store.sewouts import SewnBefore, list_sewouts

if TYPE_CHECKING:
    from collections.abc import Iterable

    from firstpiece.model.design import Revision
    from firstpiece.model.job import Job

SHOWN_AT_ONCE = 20


@dataclass(frozen=True, slots=True)
class Seen:
    """What a person tells of a sew-out.

    Parameters
    ----------
    minutes : float [min]
        Taken at the machine for the piece.
    rating : int
        1 (not to be sold) to 5 (as it should be).
    seen, change : str
        What was seen, and what changes next time.
    photos : tuple of (str, bytes)
        Names and files.
    revision : int
        The revision that was sewn; 0 takes the agreed one, else the newest.
    garment : str
        Card of the blank it was sewn on; empty takes the revision's.
    """

    minutes: float
    rating: int
    seen: str = ""
    change: str = ""
    photos: tuple[tuple[str, bytes], ...] = ()
    revision: int = 0
    garment: str = ""


def record_sewout(number: int, told: Seen, *, expected: int | None = None) -> Job:
    """Keep what came of sewing a job's design, and return the job after it.

    Raises
    ------
    PictureError
        When a photo cannot be read; nothing is written then.
    InputError, CardError, JobError, StaleError
    """
    revision = _sewn_revision(read_job(number), told.revision)
    garment = told.garment or revision.garment
    sewout = SewOut(
        revision=revision.number,
        plan_id=revision.plan_id,
        garment=garment,
        thread=revision.thread,
        cards=cards_mark(garment, revision.thread),
        minutes=told.minutes,
        rating=told.rating,
        photos=_keep_photos(told.photos),
        seen=told.seen,
        change=told.change,
    )
    return act(number, lambda job: rules.record_sewout(job, sewout), expected=expected)


def how_it_sewed(garment: str, *, limit: int = SHOWN_AT_ONCE) -> tuple[SewnBefore, ...]:
    """Return earlier sew-outs on a garment, newest first.

    Raises
    ------
    CardError
        When there is no such garment card.
    """
    open_cards().garment(garment)
    with open_book().read() as connection:
        return list_sewouts(connection, garment, limit=limit)


def cards_mark(garment: str, thread: str) -> str:
    """Return a hash of what all cards of a set-up say; another hash, other cards."""
    return content_hash("cards", open_cards().setup(garment, thread=thread))


def has_same_cards(sewout: SewOut) -> bool:
    """Return whether the cards say today what they said when it was sewn."""
    try:
        return cards_mark(sewout.garment, sewout.thread) == sewout.cards
    except CardError:
        return False


def sewout_remark(sewout: SewOut) -> str:
    """Return what was seen and what was to change, in one line; empty when neither was said."""
    said = [" ".join(text.split()) for text in (sewout.seen, sewout.change) if text]
    return " → ".join(said)


def last_remark(job: Job) -> tuple[str, ...]:
    """Return how the design sewed last: of the job, else of the one it repeats, else of the blank.

    One line or none, in the shop's words.
    """
    found = job.sewouts
    if not found and job.reorder_of:
        found = read_job(job.reorder_of).sewouts
    revision = design_of(job)
    if not found and revision is not None:
        with open_book().read() as connection:
            before = list_sewouts(connection, revision.garment, limit=SHOWN_AT_ONCE)
        said = next((b for b in before if sewout_remark(b.sewout)), None)
        if said is None:
            return ()
        line = _("this garment, job {job}: {said}")
        return (line.format(job=said.job, said=sewout_remark(said.sewout)),)
    return tuple(text for s in found if (text := sewout_remark(s)))[-1:]


def _sewn_revision(job: Job, number: int) -> Revision:
    revision = design_of(job)
    if number:
        revision = next((r for r in job.revisions if r.number == number), None)
    if revision is None:
        there = ", ".join(str(r.number) for r in job.revisions) or _("none")
        raise JobError(
            _("there is no design that could have been sewn"),
            where=_("job {number}").format(number=job.id),
            remedy=_("its revisions are: {there}").format(there=there),
        )
    return revision


def _keep_photos(photos: Iterable[tuple[str, bytes]]) -> tuple[SewOutPhoto, ...]:
    stripped = []
    for name, data in photos:
        read_artwork(data, name=name)
        stripped.append(strip_picture(data, name=name))
    shelf = open_book().pictures
    return tuple(SewOutPhoto(shelf.put(data), len(data)) for data in dict.fromkeys(stripped))
