"""Short ways to write customers and jobs into a store."""

from __future__ import annotations

from datetime import UTC, datetime

from firstpiece.model import job_rules as rules
from firstpiece.model.customer import Customer
from firstpiece.model.design import ReceivedPicture
from firstpiece.store.customers import add_customer
from firstpiece.store.jobs import change_job, create_job, read_job

NOON = datetime(2031, 4, 5, 12, 0, tzinfo=UTC)


def put_customer(store, name="Windfall Row", **fields):
    with store.write() as connection:
        return add_customer(connection, Customer(0, name, **fields), at=NOON)


def put_job(store, title="aprons", **fields):
    with store.write() as connection:
        return create_job(connection, rules.open_job(title=title, **fields), at=NOON)


def act(store, number, action, *, expected=None, at=NOON):
    with store.write() as connection:
        return change_job(connection, number, action, at=at, expected=expected)


def get_job(store, number):
    with store.read() as connection:
        return read_job(connection, number)


def put_history(store, history):
    """Write the actions of a history as one job and return it."""
    with store.write() as connection:
        job = create_job(connection, history[0], at=NOON)
    for drafts in history[1:]:
        job = act(store, job.id, lambda _job, told=drafts: told)
    return job


def put_picture(store, number, data=b"picture", name="logo.png"):
    picture = ReceivedPicture(store.pictures.put(data), name, len(data), NOON)
    return act(store, number, lambda job: rules.receive_picture(job, picture))
