"""A job as it arrives: opened together with its pictures and its customer, all or nothing."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from firstpiece.files.picture import read_artwork
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
