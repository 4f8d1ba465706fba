"""A job as it arrives: opened together with its pictures, all or nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from firstpiece.files.picture import read_artwork
from firstpiece.files.picture_strip import strip_picture
from firstpiece.model import job_rules as rules
from firstpiece.model.design import ReceivedPicture
from firstpiece.model.job import Job
from firstpiece.shop.book import now, open_book
from firstpiece.store import jobs as job_rows

if TYPE_CHECKING:
    from collections.abc import Iterable


def open_with_pictures(pictures: Iterable[tuple[str, bytes]], **head: Any) -> Job:
    """Return a new job that holds its pictures from the start.

    Parameters
    ----------
    pictures : iterable of (str, bytes)
        Names and files as received; place and person are taken out.
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
    drafts = list(rules.open_job(**head))
    for name, data in received:
        picture = ReceivedPicture(book.pictures.put(data), name, len(data), at)
        told = rules.receive_picture(Job(), picture)
        drafts += [draft for draft in told if draft not in drafts]
    with book.write() as connection:
        return job_rows.create_job(connection, tuple(drafts), at=at)
