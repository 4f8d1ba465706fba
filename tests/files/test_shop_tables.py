"""Tables out and in are the same values, no cell is a formula, and a wrong cell is named."""

from __future__ import annotations

import csv
from datetime import date
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpiece.errors import InputError
from firstpiece.files.shop_tables import (
    guard_cell,
    read_customers_csv,
    read_jobs_csv,
    unguard_cell,
    write_customers_csv,
    write_jobs_csv,
    write_lines_csv,
)
from firstpiece.model.customer import Consent, Customer
from firstpiece.model.job import JobState
from firstpiece.model.job_entry import JobEntry
from firstpiece.model.order import OrderLine

ANY = st.characters(exclude_categories=["Cs"]) | st.sampled_from("=+-@',\"\n\t")
LINES = st.text(ANY, max_size=14)
SAID = LINES.filter(lambda text: text.split())
CUSTOMERS = st.builds(
    Customer,
    id=st.just(0),
    name=SAID.filter(lambda text: any(c.isprintable() and not c.isspace() for c in text)),
    writes_by=LINES,
    notes=LINES,
    consent=st.lists(st.sampled_from(Consent), max_size=3).map(tuple),
)
ORDER_LINES = st.builds(
    OrderLine,
    number=st.just(0),
    garment=st.just("apron") | st.just("=apron"),
    count=st.integers(5, 100_000),
    color=LINES,
    size=LINES,
    placement=LINES,
    colorway=LINES,
    names=st.lists(LINES, max_size=5).map(tuple),
)
ENTRIES = st.builds(
    JobEntry,
    number=st.just(1),
    customer=st.integers(0, 9),
    title=st.just("aprons") | st.just('-aprons, "blue"'),
    state=st.sampled_from(JobState),
    due=st.none() | st.dates(),
    message=LINES,
    lines=st.lists(ORDER_LINES, max_size=3).map(
        lambda lines: tuple(
            OrderLine(n, x.garment, x.count, x.color, x.size, x.placement, x.colorway, x.names)
            for n, x in enumerate(lines, start=1)
        )
    ),
)


@given(st.lists(CUSTOMERS, max_size=4))
def test_customers_out_and_in_are_the_same(customers):
    assert read_customers_csv(write_customers_csv(customers)) == tuple(customers)


@given(ENTRIES)
def test_jobs_out_and_in_are_the_same(entry):
    jobs, lines = write_jobs_csv([entry]), write_lines_csv([entry])
    assert read_jobs_csv(jobs, lines) == (entry,)


@given(st.lists(CUSTOMERS, max_size=4), ENTRIES)
def test_no_cell_begins_like_a_formula(customers, entry):
    # OWASP, "CSV Injection": = + - @, tab and line ends at the start of a cell.
    for text in (write_customers_csv(customers), write_jobs_csv([entry]), write_lines_csv([entry])):
        for row in csv.reader(StringIO(text.removeprefix("\ufeff"), newline="")):
            assert not [cell for cell in row if cell[:1] in set("=+-@\t\r\n＝＋－＠") - {""}]


@given(LINES)
def test_guarding_is_undone_exactly(text):
    assert unguard_cell(guard_cell(text)) == text


@pytest.mark.parametrize("text", ["'tis", "plain", "", "'", "12", "O'Hara"])
def test_what_a_person_wrote_in_a_spreadsheet_is_not_cut(text):
    assert unguard_cell(text) == text


def test_a_table_written_by_hand_is_read():
    text = "Name,Number,extra,consent,notes,writes_by\r\n\r\nIda,,x,Photos,,\r\n"
    assert read_customers_csv(text) == (Customer(0, "Ida", consent=(Consent.PHOTOS,)),)
    jobs = "number,customer,title,state,due,message\n,,caps,,2031-04-05,\n"
    (entry,) = read_jobs_csv(jobs, write_lines_csv([]))
    assert (entry.number, entry.state, entry.due) == (0, JobState.ASKED, date(2031, 4, 5))


HEAD = "number,customer,title,state,due,message\n"
LINE_HEAD = "job,line,garment,color,size,count,placement,colorway,names\n"


@pytest.mark.parametrize(
    ("jobs", "lines", "words"),
    [
        ("", "", "no column number"),
        ("number,title\n", "", "no column customer, state, due, message"),
        (HEAD + "x,,a,,,\n", "", r"jobs.csv, row 2: “x” is not a whole number"),
        (HEAD + "1,,,,,\n", "", "has no title"),
        (HEAD + "1,,a,finished,,\n", "", "“finished” is not a state"),
        (HEAD + "1,,a,,5.4.2031,\n", "", "“5.4.2031” is not a day"),
        (HEAD + '1,,"a\n', "", "not a CSV table"),
        (HEAD + "1,,a,,,\n", LINE_HEAD + "2,1,apron,,,1,,,\n", "job 2, which is not in jobs.csv"),
        (HEAD + "1,,a,,,\n", LINE_HEAD + "1,1,apron,,,0,,,\n", r"lines.csv, row 2: 0 is not"),
        (HEAD + "1,,a,,,\n", LINE_HEAD + "1,1,apron,,,1,,,Ida\n1,1,apron,,,1,,,\n",
         "lines.csv: the lines of a job need different numbers"),
    ],
)  # fmt: skip
def test_a_wrong_cell_is_told_with_its_place(jobs, lines, words):
    with pytest.raises(InputError, match=words) as told:
        read_jobs_csv(jobs, lines or LINE_HEAD)
    assert told.value.remedy
