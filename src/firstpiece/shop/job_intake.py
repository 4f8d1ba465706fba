"""A job as it arrives: opened together with its pictures and its customer, all or nothing.

A picture dropped without a word opens a job of its own; dropped again while that job is nothing
more than the picture and its drafts, it finds it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from firstpiece.files.picture_strip import strip_picture
from firstpiece.model import job_rules as rules
from firstpiece.model.design import ReceivedPicture
from firstpiece.model.job import Job
from firstpiece.shop.book import now, open_book
from firstpiece.store import jobs as job_rows
from firstpiece.store.customers import add_customer

if TYPE_CHECKING:
    from collections.abc import Iterable

    from firstpiece.model.customer import Customer
    from firstpiece.model.job_event import EventDraft


@dataclass(frozen=True, slots=True)
class TakenIn:
    """A picture that arrived: the job it belongs to, and its bytes as they are kept."""

    job: Job
    data: bytes
    hash: str


def take_in_picture(
    data: bytes, *, name: str, title: str, number: int = 0, expected: int | None = None
) -> TakenIn:
    """Keep a picture with a job and return both; it is not decoded here.

    Parameters
    ----------
    data : bytes
    name, title : str
        The file's name; what a new job is called.
    number : int
        The job; 0 takes the one it was dropped for before, else opens one.
    expected : int or None
        The version the person saw.

    Raises
    ------
    PictureError
        When it is no picture or cut short; nothing is kept then.
    JobError, StaleError
    """
    kept = strip_picture(data, name=name)
    book, at = open_book(), now()
    picture = ReceivedPicture(book.pictures.put(kept), name, len(kept), at)
    with book.write() as connection:
        number = number or job_rows.draft_with_picture(connection, picture.hash)
        if number:
            job = job_rows.change_job(
                connection,
                number,
                lambda job: rules.receive_picture(job, picture),
                at=at,
                expected=expected,
            )
        else:
            drafts = (*rules.open_job(title=title), *rules.receive_picture(Job(), picture))
            job = job_rows.create_job(connection, drafts, at=at)
    return TakenIn(job, kept, picture.hash)


def open_with_pictures(
    pictures: Iterable[tuple[str, bytes]], *, newcomer: Customer | None = None, **head: Any
) -> Job:
    """Return a new job that holds its pictures from the start.

    Parameters
    ----------
    pictures : iterable of (str, bytes)
        Names and files as received; place and person are taken out.
    newcomer : Customer or None
        A customer who is not kept yet, opened with the job and in place of ``head["customer"]``.
    **head
        See ``rules.open_job``.

    Raises
    ------
    PictureError
        When one cannot be read; no job is opened then.
    JobError
    """
    from firstpiece.files.picture import read_artwork

    received = []
    for name, data in pictures:
        read_artwork(data, name=name)
        received.append((name, strip_picture(data, name=name)))
    book, at = open_book(), now()
    # Asked here too, so that a job that cannot be leaves no pictures behind.
    rules.open_job(**head)
    drafts: list[EventDraft] = []
    for name, data in received:
        picture = ReceivedPicture(book.pictures.put(data), name, len(data), at)
        told = rules.receive_picture(Job(), picture)
        drafts += [draft for draft in told if draft not in drafts]
    with book.write() as connection:
        if newcomer is not None:
            head["customer"] = add_customer(connection, replace(newcomer, id=0), at=at).id
        return job_rows.create_job(connection, (*rules.open_job(**head), *drafts), at=at)
