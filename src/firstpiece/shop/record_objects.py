"""Customers, jobs and log entries as plain objects, for ``--json`` and for handing data out."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date, datetime
from enum import Enum
from typing import TYPE_CHECKING, Any

from moneyed import Money

from firstpiece.model.design import money_object

if TYPE_CHECKING:
    from firstpiece.model.customer import Customer
    from firstpiece.model.design import RevisionChange
    from firstpiece.model.job import Job
    from firstpiece.model.job_event import JobEvent
    from firstpiece.shop.job_book import Found, JobPage
    from firstpiece.store.jobs import JobSummary

Object = dict[str, Any]


def record_object(job: Job) -> Object:
    """Return a job as it stands; ``id`` is called ``number``, as people call it."""
    content = _numbered(_plain(job))
    waiting = job.waiting
    return {
        **content,
        "waiting": str(waiting),
        "turn": str(waiting.turn),
        "waiting_for": waiting.sentence,
        "n_pieces": job.n_pieces,
    }


def summary_object(line: JobSummary) -> Object:
    """Return a job as a list shows it."""
    content = _numbered(_plain(line))
    return {**content, "turn": str(line.waiting.turn), "waiting_for": line.waiting.sentence}


def customer_object(customer: Customer) -> Object:
    """Return a customer."""
    return _numbered(_plain(customer))


def event_object(event: JobEvent) -> Object:
    """Return an entry of a job's log."""
    content: Object = _plain(event)
    return content


def page_object(page: JobPage) -> Object:
    """Return everything kept about a job."""
    return {
        "job": record_object(page.job),
        "customer": customer_object(page.customer) if page.customer else None,
        "log": [event_object(event) for event in page.log],
    }


def found_object(found: Found) -> Object:
    """Return what a search found."""
    return {
        "jobs": [summary_object(line) for line in found.jobs],
        "customers": [customer_object(c) for c in found.customers],
        "more": found.more,
    }


def value_object(value: Any) -> Any:
    """Return any value of the model as JSON has it."""
    return _plain(value)


def change_object(change: RevisionChange) -> Object:
    """Return the difference of two revisions."""
    content: Object = _plain(change)
    return content


def _numbered(content: Object) -> Object:
    return {"number" if name == "id" else name: value for name, value in content.items()}


def _plain(value: Any) -> Any:
    """Return a value made of what JSON has; moments and days as ISO 8601 text."""
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, Money):
        return money_object(value)
    if is_dataclass(value):
        return {f.name: _plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, dict):
        return {str(name): _plain(item) for name, item in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    return value
