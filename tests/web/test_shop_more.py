"""The shop's other pages: questions, prices, papers, sew-outs, customers, suppliers, set-up.

What a form does is held against the shop's store; that reading changes nothing is RFC 9110 9.2.1.
"""

from __future__ import annotations

import io
import json
import re
import zipfile

import numpy as np
import pytest
import segno
from PIL import Image
from tests.web.pictures import pear_png

from firstpiece.model.customer import Consent, Customer
from firstpiece.model.job import JobState
from firstpiece.model.order import OrderLine
from firstpiece.model.ticket import bag_code
from firstpiece.shop import (
    customers,
    job_book,
    job_design,
    job_order,
    needles,
    placements,
    stock_book,
    stock_entry,
    tickets,
)
from firstpiece.shop.prepare import PrepareRequest

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def page(shared_page):
    return shared_page


@pytest.fixture(scope="module")
def number(page):
    """A job with two designs, two kinds of garment, a customer and everything in stock."""
    who = customers.open_customer(Customer(0, "Windfall Row", "the gate", "pays late"))
    job = job_book.open_job(title="Harvest aprons", customer=who.id)
    for garment, count, size in (("apron-natural", 3, ""), ("tee-white", 2, "M")):
        job_order.put_line(job.id, OrderLine(0, garment, count, size=size))
    for height in (40.0, 50.0):
        job_design.revise_job(job.id, PrepareRequest(pear_png(), "pear.png", height))
    for garment, size in (("apron-natural", ""), ("tee-white", "M")):
        item = stock_entry.add_entry(stock_entry.StockEntry("blank", garment, size=size)).item
        stock_book.receive_stock(item.id, 5)
    return job.id


def act(page, number, what, *, files=None, **fields):
    seen = fields.pop("seen", None) or job_book.read_job(number).version
    return page.post(f"/job/{number}/{what}", files=files, seen=str(seen), **fields)


def test_what_is_open_is_asked_by_letter_and_answered_by_letter(page, number):
    html = page.get(f"/job/{number}/ask").text
    assert "points wait to be asked" in html
    assert "please answer by letter" in html
    if "questions.png" in html:
        assert page.get(f"/job/{number}/ask/questions.png").content.startswith(b"\x89PNG")
    assert page.get(f"/job/{number}/ask/store.sqlite").status_code == 404
    assert act(page, number, "ask-open").status_code == 303
    asked = {point.code: point for point in job_book.read_job(number).asked}
    html = page.get(f"/job/{number}").text
    assert f"<b>{asked['due'].letter}</b>" in html
    wrong = act(page, number, "answer-point", letter=asked["due"].letter, said="soon")
    assert wrong.status_code == 422
    assert "2031-04-05" in wrong.text
    act(page, number, "answer-point", letter=asked["due"].letter, said="2031-09-05")
    assert str(job_book.read_job(number).due) == "2031-09-05"
    act(page, number, "first-answers")
    left = job_book.read_job(number).asked
    assert all(not point.choices for point in left)
    for point in left:
        act(page, number, "answer-point", letter=point.letter, said="2 M")
    assert act(page, number, "first-answers").status_code == 422


def test_the_price_in_full_shows_each_garment_cost_and_margin_and_writes_nothing(page, number):
    before = job_book.read_job(number).version
    html = page.get(f"/job/{number}/price?free=1&rush=yes").text
    assert job_book.read_job(number).version == before
    for words in ("Bib apron, natural twill", "T-shirt, white jersey", "Rush", "Free of charge",
                  "It costs us", "a margin of", "which cost us"):  # fmt: skip
        assert words in html, words
    message = html[html.index("<textarea") : html.index("</textarea>")]
    assert "costs us" not in message
    assert "margin" not in message
    assert page.get(f"/job/{number}/price?free=9").status_code == 422
    assert page.get(f"/job/{number}/price?free=x").status_code == 422


def test_two_revisions_are_told_apart_in_a_sentence(page, number):
    html = page.get(f"/job/{number}/compare/1/2").text
    assert re.search(r"At 50 mm: \+[\d,]+ stitches, \+\d+ min, \+£[\d.]+ each", html)
    assert "At 2 in" in page.get(f"/job/{number}/compare/1/2?unit=in").text
    assert page.get(f"/job/{number}/compare/1/9").status_code == 422


def test_colourways_names_and_lines_are_changed_on_the_page(page, number):
    threads = job_book.read_job(number).revision.threads
    rack = page.site.cards().thread("poly-40").colors
    others = {f"thread{i}": rack[i].name for i in range(len(threads))}
    assert act(page, number, "colorway", colorway="dusk", **others).status_code == 303
    line = {"count": "3", "garment": "apron-natural", "size": "", "color": "", "placement": "Bib",
            "line_colorway": "dusk", "names": "Ida, Quentin"}  # fmt: skip
    act(page, number, "line/1/change", **line)
    kept = job_book.read_job(number).lines[0]
    assert (kept.names, kept.colorway, kept.placement) == (("Ida", "Quentin"), "dusk", "Bib")
    act(page, number, "line/1/change", **{**line, "line_colorway": ""})
    assert act(page, number, "line/9/change", **line).status_code == 422


def test_papers_and_tickets_are_printed_from_the_page(page, number):
    job_order.offer_price(number)
    job_order.agree_job(number, said_by="Ida")
    html = page.get(f"/job/{number}/papers?labels=a4-3x8").text
    for name in ("proof.pdf", "run-sheet.pdf", "template.pdf", "labels.pdf", "pack-list.pdf"):
        assert f"/job/{number}/papers/{name}" in html
    assert page.get(f"/job/{number}/papers/care.pdf").content.startswith(b"%PDF")
    assert page.get(f"/job/{number}/papers/none.pdf").status_code == 404
    assert page.get(f"/job/{number}/papers?paper=A17").status_code == 422
    answer = act(page, number, "tickets", line="2")
    assert answer.content.startswith(b"%PDF")
    assert answer.headers["content-disposition"].startswith("attachment")
    assert page.get(f"/job/{number}/tickets").status_code == 303
    assert page.get("/stock/bag-labels.pdf").content.startswith(b"%PDF")


def photo_of(*codes):
    """Draw codes side by side on grey, turned a little and compressed, as a phone sees them."""
    tiles = []
    for code in codes:
        out = io.BytesIO()
        segno.make(code, error="m").save(out, kind="png", scale=6, border=6)
        tiles.append(Image.open(out).convert("RGB"))
    sheet = Image.new("RGB", (900, 520), (190, 188, 184))
    for place, tile in enumerate(tiles):
        sheet.paste(tile.rotate(7, expand=True, fillcolor=(190, 188, 184)), (40 + 430 * place, 90))
    noise = np.random.default_rng(3).normal(0, 4, (520, 900, 3))
    rough = np.clip(np.asarray(sheet) + noise, 0, 255).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(rough).save(out, "JPEG", quality=70)
    return out.getvalue()


def test_a_phone_photo_of_ticket_and_bag_starts_a_piece(page, number):
    made = tickets.list_tickets(number)[0]
    item = next(h.item for h in stock_book.list_stock() if h.item.key.name == made.garment)
    photo = photo_of(made.code, bag_code(item.id, item.key))
    answer = page.post("/tickets/check", files={"photo": ("p.jpg", photo)}, design=made.plan_id)
    assert "<h1>SEW</h1>" in answer.text
    wrong = next(h.item for h in stock_book.list_stock() if h.item.key.name != made.garment)
    second = tickets.list_tickets(number)[1]
    photo = photo_of(second.code, bag_code(wrong.id, wrong.key))
    answer = page.post("/tickets/check", files={"photo": ("p.jpg", photo)}, design=made.plan_id)
    assert "WRONG" in answer.text


def test_a_sew_out_is_told_with_photos_and_found_by_its_garment(page, number):
    photos = [("photos", ("a.png", pear_png())), ("photos", ("b.png", pear_png()))]
    told = {"minutes": "12,5", "rating": "4", "saw": "a gap at the leaf", "change": "closer rows"}
    assert act(page, number, "sewn-out", files=photos, **told).status_code == 303
    (kept,) = job_book.read_job(number).sewouts
    assert (kept.minutes, kept.rating, kept.seen, len(kept.photos)) == (
        12.5, 4, "a gap at the leaf", 1)  # fmt: skip
    html = page.get(f"/job/{number}").text
    address = f"/job/{number}/pictures/{kept.photos[0].hash}"
    assert address in html
    photo = page.get(address)
    assert photo.headers["content-type"] == "image/png"
    assert page.get(f"/job/{number}/pictures/{'0' * 64}").status_code == 404
    before = page.get("/sewn/apron-natural").text
    assert "a gap at the leaf" in before
    assert "the cards say the same today" in before
    assert page.get("/sewn/ball-gown").status_code == 404
    assert act(page, number, "sewn-out", **{**told, "rating": "9"}).status_code == 422


def test_finishing_lists_what_is_left_and_writes_the_message_at_the_end(page, number):
    html = page.get(f"/job/{number}").text
    finish = html[html.index('id="finish"') :]
    for words in ("Trim every loose thread", "soft cover", "hoop marks", "Press from the back",
                  "Count: 5 pieces", "T-shirt, white jersey, M"):  # fmt: skip
        assert words in finish, words
    assert "is written when every piece is sewn" in finish
    stock = {h.item.key.name: h.item for h in stock_book.list_stock()}
    for made in tickets.list_tickets(number):
        item = stock[made.garment]
        tickets.check_ticket(made.code, bag=bag_code(item.id, item.key), design=made.plan_id)
        tickets.record_sewn(made.code)
    assert "checked and packed" in page.get(f"/job/{number}").text


def test_a_customer_is_changed_handed_out_and_erased(page):
    answer = page.post("/customers/new", name="Orchard school", consent_photos="yes")
    path = answer.headers["location"]
    who = customers.read_customer(int(path.rpartition("/")[2]))
    assert who.consent == (Consent.PHOTOS,)
    fields = {"name": "Orchard school", "writes_by": "letter", "consent_substitutes": "yes"}
    assert page.post(f"{path}/change", seen="1", **fields).status_code == 303
    assert page.post(f"{path}/change", seen="1", **fields).status_code == 409
    assert customers.read_customer(who.id).consent == (Consent.SUBSTITUTES,)
    job = job_book.open_job(title="Caps for the school", customer=who.id)
    kept = page.get(f"{path}/kept.zip")
    with zipfile.ZipFile(io.BytesIO(kept.content)) as archive:
        (record,) = json.loads(archive.read("jobs.json"))
    assert record["number"] == job.id
    assert "Caps for the school" in page.get(path).text
    assert page.post(f"{path}/erase", seen="2", again="somebody").status_code == 422
    assert page.post(f"{path}/erase", seen="1", again="orchard school").status_code == 409
    assert page.post(f"{path}/erase", seen="2", again="orchard school").status_code == 303
    html = page.get(path).text
    assert "This customer was erased" in html
    assert "Orchard school" not in html + page.get("/customers").text
    assert page.get("/customer/999").status_code == 404
    assert page.post("/customers/new", name=" ").status_code == 422


def test_suppliers_and_how_a_thing_is_bought(page, number):
    put = {"name": "the mill", "days": "5", "order_cost": "6.50", "notes": "no post on Mondays"}
    assert page.post("/suppliers/put", **put).status_code == 303
    assert page.post("/suppliers/put", **{**put, "days": "900"}).status_code == 422
    (kept,) = stock_book.list_suppliers()
    assert (kept.lead_days, kept.order_cost.amount) == (5, 6.5)
    item = stock_book.list_stock()[0].item
    change = {"label": item.label, "supplier": "the mill", "pack": "6", "each": "3.20",
              "barcode": "12345678", "fibres": "cotton 60, linen 40", "weight": "180",
              "feel": "soft"}  # fmt: skip
    path = f"/stock/{item.id}"
    assert page.post(f"{path}/change", seen=str(item.version), **change).status_code == 303
    assert page.post(f"{path}/change", seen=str(item.version), **change).status_code == 409
    changed = stock_book.read_stock(item.id).holding.item
    assert (changed.supplier, changed.pack, changed.cloth.feel) == ("the mill", 6, "soft")
    assert "no post on Mondays" in page.get("/suppliers").text
    bad = {**change, "fibres": "cotton 60"}
    assert page.post(f"{path}/change", seen=str(changed.version), **bad).status_code == 422


def test_needles_are_kept_and_shown(page, number):
    cone = {"machine": "one-head", "needle": "3", "cone": "poly-40/poppy", "size": "65"}
    assert page.post("/needles/put", **cone).status_code == 303
    assert needles.list_needles("one-head")[0].cones[2].needle_words == "65/9 sharp"
    assert "65/9 sharp" in page.get("/needles").text
    page.post("/needles/put", **{**cone, "cone": ""})
    assert needles.list_needles("one-head")[0].cones[2] is None
    assert page.post("/needles/put", **{**cone, "needle": "99"}).status_code == 422
    assert page.post("/needles/for-job", job="999", start="2031-09-01").status_code == 422


def test_places_are_changed_and_go_back(page):
    new = {"kind": "tee", "place": "left-chest", "size": "M", "down": "7 3/4 in"}
    assert page.post("/placements/put", **new).status_code == 303
    (own,) = [k.placement for k in placements.list_placements() if k.is_own]
    assert own.down("M").value == pytest.approx(196.85)
    assert own.words("L").startswith("Wearer")
    assert "197\u00a0mm" in page.get("/placements").text
    assert page.post("/placements/put", **{**new, "down": "far"}).status_code == 422
    assert page.post("/placements/put", **{**new, "place": "hem"}).status_code == 422
    bad = {**new, "place": "hem", "label": "Hem", "sentence": "{down} and {oops}"}
    assert page.post("/placements/put", **bad).status_code == 422
    assert page.post("/placements/remove", kind="tee", place="left-chest").status_code == 303
    assert not [k for k in placements.list_placements() if k.is_own]
    assert page.post("/placements/remove", kind="tee", place="left-chest").status_code == 422


def test_a_job_goes_to_another_customer(page, number):
    other = customers.open_customer(Customer(0, "Ida Appleyard"))
    job = job_book.read_job(number)
    fields = {"title": job.title, "message": "", "due": "", "customer": str(other.id)}
    assert act(page, number, "head", **fields).status_code == 303
    assert job_book.read_job(number).customer == other.id
    assert job_book.read_job(number).state == JobState.AGREED


def test_backups_and_tables_from_the_page(page, number):
    assert page.post("/kept/backup").status_code == 303
    assert "firstpiece-" in page.get("/kept").text
    jobs = page.get("/kept/tables/jobs.csv")
    assert "Harvest aprons" in jobs.text
    assert jobs.headers["content-type"].startswith("text/csv")
    assert page.get("/kept/tables/store.sqlite").status_code == 404
    assert page.post("/kept/tables").status_code == 422
    again = page.post("/kept/tables", files={"jobs.csv": ("jobs.csv", jobs.content)})
    assert again.status_code == 422  # those numbers were given out before
    head = jobs.text.splitlines()[0]
    new = {"title": "Caps", "state": "asked"}
    row = ",".join(new.get(name, "") for name in head.lstrip("\ufeff").split(","))
    files = {"jobs.csv": ("jobs.csv", f"{head}\r\n{row}\r\n".encode())}
    answer = page.post("/kept/tables", files=files)
    assert "1 job came in" in answer.text
    assert job_book.search_shop("Caps").jobs
