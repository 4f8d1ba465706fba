"""Jobs: open one, read it, list and search them, and everything that moves one on.

``expected`` is the version of the job that the person saw: when somebody else has changed it since,
a ``StaleError`` says so and nothing is written. None takes the job as it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from firstpiece.model import job_rules as rules
from firstpiece.shop.book import now, open_book
from firstpiece.store import jobs as job_rows
from firstpiece.store.customers import find_customers, read_customer
from firstpiece.store.jobs import JobFilter, JobSummary
from firstpiece.store.log import read_log

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from firstpiece.model.customer import Customer
    from firstpiece.model.job import Job, JobState
    from firstpiece.model.job_event import JobEvent
    from firstpiece.model.job_rules import Drafts

SHOWN_AT_ONCE = 50


@dataclass(frozen=True, slots=True)
class JobPage:
    """Everything kept about one job: as it stands, whose it is, and how it came to be so."""

    job: Job
    customer: Customer | None
    log: tuple[JobEvent, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """What a search found, newest first; ``more`` tells that there is more than is shown."""

    jobs: tuple[JobSummary, ...]
    customers: tuple[Customer, ...]
    more: bool


@dataclass(frozen=True, slots=True)
class JobList:
    """Jobs by due date; ``next_after`` goes on where they end, None at the end."""

    jobs: tuple[JobSummary, ...]
    next_after: tuple[date | None, int] | None


def open_job(*, title: str, customer: int = 0, message: str = "", due: date | None = None) -> Job:
    """Return a new job.

    Raises
    ------
    JobError
        Without a title, or when there is no such customer.
    """
    drafts = rules.open_job(title=title, customer=customer, message=message, due=due)
    with open_book().write() as connection:
        return job_rows.create_job(connection, drafts, at=now())


def read_job(number: int) -> Job:
    """Return a job as it stands.

    Raises
    ------
    JobError
        When there is none of that number.
    """
    with open_book().read() as connection:
        return job_rows.read_job(connection, number)


def read_page(number: int) -> JobPage:
    """Return everything kept about a job, all of one moment; see ``read_job``."""
    with open_book().read() as connection:
        job = job_rows.read_job(connection, number)
        customer = read_customer(connection, job.customer) if job.customer else None
        return JobPage(job, customer, read_log(connection, number))


def list_jobs(
    wanted: JobFilter | None = None,
    *,
    limit: int = SHOWN_AT_ONCE,
    after: tuple[date | None, int] | None = None,
) -> JobList:
    """Return jobs, the first due first; open ones unless asked otherwise."""
    wanted = wanted or JobFilter(is_open=True)
    with open_book().read() as connection:
        found = job_rows.list_jobs(connection, wanted, limit=limit + 1, after=after)
    shown = found[:limit]
    more = len(found) > limit
    return JobList(shown, (shown[-1].due, shown[-1].id) if more and shown else None)


def search_shop(query: str, *, limit: int = SHOWN_AT_ONCE) -> Found:
    """Return jobs and customers that have a word beginning with each word of the query."""
    with open_book().read() as connection:
        jobs = job_rows.find_jobs(connection, query, limit=limit + 1)
        customers = find_customers(connection, query, limit=limit + 1)
    more = max(len(jobs), len(customers)) > limit
    return Found(jobs[:limit], customers[:limit], more)


def act(number: int, decide: Callable[[Job], Drafts], *, expected: int | None = None) -> Job:
    """Do one action on a job in one transaction and return the job after it.

    Raises
    ------
    JobError, StaleError, BusyError, StoreError
    """
    with open_book().write() as connection:
        return job_rows.change_job(connection, number, decide, at=now(), expected=expected)


def change_head(number: int, changes: dict[str, Any], *, expected: int | None = None) -> Job:
    """Change ``title``, ``message``, ``customer`` or ``due`` of a job."""
    return act(number, lambda job: rules.change_head(job, changes), expected=expected)


def note_job(number: int, text: str, *, expected: int | None = None) -> Job:
    """Keep a remark with a job."""
    return act(number, lambda job: rules.note(job, text), expected=expected)


def record_question(number: int, text: str, *, expected: int | None = None) -> Job:
    """Record what was asked of the customer; the job waits for the answer."""
    return act(number, lambda job: rules.ask(job, text), expected=expected)


def record_answer(number: int, text: str, *, expected: int | None = None) -> Job:
    """Record the customer's answer."""
    return act(number, lambda job: rules.answer(job, text), expected=expected)


def step_job(number: int, state: JobState, *, expected: int | None = None) -> Job:
    """Move a job on: supplied, sewing, done."""
    return act(number, lambda job: rules.step(job, state), expected=expected)


def drop_job(number: int, *, reason: str = "", expected: int | None = None) -> Job:
    """Give a job up; it stays in the store."""
    return act(number, lambda job: rules.drop(job, reason), expected=expected)


def take_up_job(number: int, *, expected: int | None = None) -> Job:
    """Take a dropped job up again."""
    return act(number, rules.take_up, expected=expected)
