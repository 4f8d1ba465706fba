"""A search finds the same in either database: rows with a word that begins with each word asked."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.store.job_writing import act, put_customer, put_job, put_picture

from firstpiece.model import job_rules as rules
from firstpiece.model.order import OrderLine
from firstpiece.model.plain_text import search_words
from firstpiece.store.customers import change_customer, find_customers, read_customer
from firstpiece.store.jobs import find_jobs, make_findable, read_job
from firstpiece.store.schema import CUSTOMER_WORDS
from firstpiece.store.search import find_words, put_words

PIECES = ["Apron", "apricot", "café", "CAFE", "Straße", "12", "1204", "x", "é", "日本", "日",
          "o'brien", "a&b", '"', "'", ":*", "--", "AND", "NOT", "OR", "NEAR", "(", "*", "\\",
          "%", "_", "|", "!", "<->", "ﬁne", "½", "🙂"]  # fmt: skip
TEXTS = st.lists(st.sampled_from(PIECES) | st.text(max_size=6), max_size=5).map(" ".join)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture],
          deadline=None)  # fmt: skip
@given(texts=st.lists(TEXTS, max_size=6), queries=st.lists(TEXTS, max_size=4))
def test_what_is_found_follows_one_plain_rule(store, texts, queries):
    with store.write() as connection:
        if connection.exec_driver_sql("SELECT count(*) FROM customers").scalar() == 0:
            for number in range(1, 7):
                connection.exec_driver_sql(
                    f"INSERT INTO customers VALUES ({number}, 1, 'n', 'n', '', '', '[]', '', NULL)"
                )
        for number in range(1, 7):
            text = texts[number - 1] if number <= len(texts) else ""
            put_words(connection, CUSTOMER_WORDS, number, (text,))
    for query in queries:
        asked = search_words(query)[:8]
        expected = tuple(
            number
            for number in range(len(texts), 0, -1)
            if all(any(w.startswith(q) for w in search_words(texts[number - 1])) for q in asked)
        )
        with store.read() as connection:
            found = find_words(connection, CUSTOMER_WORDS, query, limit=9)
        assert found == (expected if asked else None)


def numbers(store, query, limit=50):
    with store.read() as connection:
        return [job.id for job in find_jobs(connection, query, limit=limit)]


def test_everything_of_a_job_is_found(store):
    customer = put_customer(store, "Ännchen Birnbaum", writes_by="birds@orchard.example")
    job = put_job(store, "Harvest aprons", customer=customer.id, message="for the Café, please")
    other = put_job(store, "Something else")
    line = OrderLine(0, "apron-natural", 2, color="moss", size="XXL", placement="left pocket",
                     names=("Quentin",))  # fmt: skip
    act(store, job.id, lambda j: rules.put_line(j, line))
    act(store, job.id, lambda j: rules.ask(j, "which turquoise?"))
    act(store, job.id, lambda j: rules.answer(j, "the darkest"))
    act(store, job.id, lambda j: rules.note(j, "rang on Tuesday"))
    put_picture(store, job.id, name="emblem-final.jpg")
    for word in ("harvest", "CAFE", "annchen", "natural", "moss", "xxl", "pocket", "quen",
                 "turquoise", "darkest", "tues", "emblem", "asked", str(job.id)):  # fmt: skip
        assert job.id in numbers(store, word), word
    assert numbers(store, "harvest quentin") == [job.id]
    assert numbers(store, "harvest nobody") == []
    assert numbers(store, "else") == [other.id]
    assert numbers(store, "...") == []


def test_a_job_is_no_longer_found_by_what_it_no_longer_holds(store):
    job = put_job(store, "Plum shirts")
    act(store, job.id, lambda j: rules.change_head(j, {"title": "Pear shirts"}))
    assert numbers(store, "plum") == []
    assert numbers(store, "pear shi") == [job.id]


def test_jobs_follow_their_customers_new_name(store):
    customer = put_customer(store, "Windfall")
    job = put_job(store, customer=customer.id)
    from dataclasses import replace

    with store.write() as connection:
        now = read_customer(connection, customer.id)
        change_customer(connection, replace(now, name="Greengage"), expected=None)
        make_findable(connection, read_job(connection, job.id))
    assert numbers(store, "greeng") == [job.id]
    assert numbers(store, "windfall") == []
    with store.read() as connection:
        assert [c.id for c in find_customers(connection, "greeng", limit=5)] == [customer.id]


def test_the_newest_come_first_and_no_more_than_asked(store):
    for _ in range(5):
        put_job(store, "same words")
    assert numbers(store, "same", limit=3) == [5, 4, 3]


@pytest.mark.parametrize(
    "query", ["'; DROP TABLE jobs; --", '" OR 1=1', "a' | 'b", "NEAR(a b)", "^a", "a:b"]
)
def test_no_query_is_a_command(store, query):
    put_job(store, "aprons")
    numbers(store, query)
    assert numbers(store, "aprons") == [1]
