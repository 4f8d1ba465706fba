"""The store's page tells every state, what each waits for, and every table a shop may open."""

from __future__ import annotations

import re
from pathlib import Path

from firstpiece.files.shop_tables import CUSTOMERS_FILE, JOBS_FILE, LINES_FILE
from firstpiece.model.job import Job, JobState
from firstpiece.model.order import OrderLine

PAGE = (Path(__file__).parents[2] / "docs" / "store.md").read_text("utf-8")


def test_every_state_is_told_with_what_it_waits_for():
    part = PAGE.partition("| state |")[2].partition("\n\n")[0]
    rows = dict(re.findall(r"^\| (\w+) \| .+? \| (.+?) \|$", part, re.MULTILINE))
    assert list(rows) == [str(state) for state in JobState]
    for state in JobState:
        for lines in ((), (OrderLine(1, "apron", 1),)):
            sentence = Job(state=state, lines=lines).waiting.sentence
            assert sentence.removeprefix("us: ") in rows[state]


def test_every_table_and_setting_is_told():
    for name in (CUSTOMERS_FILE, JOBS_FILE, LINES_FILE, "FIRSTPIECE_STORE", "settings.toml"):
        assert f"`{name}`" in PAGE, name
