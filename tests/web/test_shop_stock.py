"""Stock on the page, held against the shop's own log of movements, which has its own tests.

The order of size letters is common practice, no source.
"""

from __future__ import annotations

import re

import pytest
from tests.shop.shop_floor import FRIDAY, agreed_job, stocked
from tests.web.pictures import pear_png

from firstpiece.model.stock import Cause, Holding, StockItem, SupplyKey, SupplyKind
from firstpiece.shop import stock_book
from firstpiece.shop.job_book import read_job
from firstpiece.web.shop_stock_pages import group_styles


def count_of(item: int) -> int:
    return stock_book.read_stock(item).holding.count


def test_counts_stand_by_style_colour_and_size_in_the_order_they_fit():
    sizes = ("XL", "10", "S", "2", "M", "one", "L")
    held = [
        Holding(StockItem(i, SupplyKey(SupplyKind.BLANK, "tee-white", "white", size)))
        for i, size in enumerate(sizes, start=1)
    ]
    black = Holding(StockItem(9, SupplyKey(SupplyKind.BLANK, "tee-white", "black", "M")))
    white, other = group_styles([*held, black])
    found = [h.item.key.size for h in white.sizes]
    assert found[:4] == ["S", "M", "L", "XL"]
    assert found.index("2") < found.index("10")
    assert (other.color, len(other.sizes)) == ("black", 1)


def test_an_empty_shop_says_so(page):
    html = page.get("/stock").text
    assert "Nothing is short." in html
    assert "No blank is on the list yet." in html
    assert "There is nothing to buy." in html


def test_a_thing_is_put_on_the_list_received_and_corrected(page):
    answer = page.post("/stock/add", kind="blank", name="tee-white", size="M", pack="6",
                       each="3.10", supplier="the mill")  # fmt: skip
    assert answer.status_code == 303, answer.text
    path = answer.headers["location"]
    item = int(path.rpartition("/")[2])
    assert page.post(f"{path}/receive", units="12", place="shelf A1").status_code == 303
    assert page.post(f"{path}/count", counted="11", because="one was torn").status_code == 303
    moves = stock_book.read_stock(item).movements
    assert [(m.change, m.cause, m.reason, m.place) for m in moves] == [
        (-1, Cause.COUNTED, "one was torn", "shelf A1"),
        (12, Cause.RECEIVED, "", "shelf A1"),
    ]
    html = page.get(path).text
    assert "£3.10" in html
    assert "one was torn" in html
    assert ">M: 11</a>" in page.get("/stock").text


def test_a_lot_is_corrected_where_it_lies(page):
    item = stocked("apron-natural", 5, place="shelf A")
    stock_book.receive_stock(item, 4, place="shelf B")
    page.post(f"/stock/{item}/count", counted="1", place="shelf B", because="lent out")
    lots = {lot.place: lot.count for lot in stock_book.read_stock(item).holding.lots}
    assert lots == {"shelf A": 5, "shelf B": 1}


@pytest.mark.parametrize(
    ("what", "fields"),
    [("receive", {"units": "0"}), ("receive", {"units": "a box"}), ("receive", {}),
     ("count", {"counted": "3"}), ("count", {"counted": "-1", "because": "x"})],
)  # fmt: skip
def test_a_count_that_cannot_be_is_told_and_nothing_moves(page, what, fields):
    item = stocked("apron-natural", 5)
    answer = page.post(f"/stock/{item}/{what}", **fields)
    assert answer.status_code == 422
    assert answer.text.count('role="alert"') == 1
    assert count_of(item) == 5


@pytest.mark.parametrize(
    ("path", "fields"),
    [("add", {"kind": "cape", "name": "x"}), ("add", {"kind": "blank", "name": "cape"}),
     ("add", {"kind": "blank", "name": ""}), ("bought", {"supplier": "nobody"}), ("bought", {}),
     ("take", {"job": "9"}), ("ask", {"job": "9", "line": "1", "item": "1"}),
     ("consent", {"job": "1", "line": "1", "item": "1", "said": "perhaps"})],
)  # fmt: skip
def test_what_makes_no_sense_is_told(page, path, fields):
    answer = page.post(f"/stock/{path}", **fields)
    assert answer.status_code == 422
    assert answer.text.count('role="alert"') == 1
    assert stock_book.list_stock() == ()


def test_an_unknown_thing_is_not_found_and_foreign_forms_are_refused(page):
    assert page.get("/stock/404").status_code == 404
    item = stocked("apron-natural", 5)
    answer = page.post(f"/stock/{item}/receive", form_key="0" * 64, units="3")
    assert answer.status_code == 403
    assert page.get(f"/stock/{item}/receive").status_code == 405
    assert count_of(item) == 5


@pytest.mark.slow
def test_what_is_short_is_bought_and_taken(page):
    item = stocked("tee-white", 3, size="M", pack=6, each="3.10")
    job = agreed_job(pear_png(), ("tee-white", 8, "M", ()), due=FRIDAY)
    html = page.get("/stock").text
    assert "1 thing waits to be bought." in html
    assert re.search(r"5 × T-shirt, white jersey, M</b>\s+for", html)
    assert "needed by Wed\u00a03\u00a0Sep\u00a02031" in html
    assert "£18.60" in html
    assert page.post("/stock/bought", supplier="the mill").status_code == 303
    html = page.get("/stock").text
    assert "Nothing is short." in html
    assert "5 come" in html
    early = page.post("/stock/take", job=str(job))
    assert early.status_code == 422
    assert count_of(item) == 3
    page.post(f"/stock/{item}/receive", units="6")
    assert page.post("/stock/take", job=str(job)).status_code == 303
    assert count_of(item) == 1
    assert "No agreed job needs anything more." in page.get("/stock").text


@pytest.mark.slow
def test_another_blank_stands_in_after_the_customers_yes(page):
    stocked("apron-natural", fibres="cotton")
    other = stocked("apron-forest", 5, color="natural", fibres="cotton 60, linen 40", feel="crisp")
    job = agreed_job(pear_png(), ("apron-natural", 3, "", ()))
    html = page.get("/stock").text
    assert "40 % other fibre, feels crisp; consent not asked" in html
    place = {"job": str(job), "line": "1", "item": str(other)}
    refused = page.post("/stock/consent", **place, said="yes")
    assert refused.status_code == 422
    assert page.post("/stock/ask", **place).headers["location"] == f"/job/{job}#asked"
    assert "May we use it instead?" in page.get(f"/job/{job}").text
    assert "The customer said yes" in page.get("/stock").text
    page.post("/stock/consent", **place, said="yes")
    assert read_job(job).question == ""
    found = stock_book.list_buying()
    assert not found.shortages
    assert [s.need.key.name for s in found.shares] == ["apron-forest"]
