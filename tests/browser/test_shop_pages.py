"""The shop's pages in a browser: the whole way without scripts, and usable by everyone.

Source: W3C WCAG 2.2 levels A and AA, by axe-core's rules; 1.4.10 reflow and 2.5.8 target size are
checked directly.
"""

from __future__ import annotations

from datetime import date

import pytest
from tests.browser.test_accessible import SMALL_TARGETS, find_faults
from tests.shop.shop_floor import FRIDAY, agreed_job, stocked
from tests.web.pictures import pear_png

from firstpiece.model.order import OrderLine
from firstpiece.shop import job_book, stock_book, tickets
from firstpiece.shop.day import load_for_job, plan_shop_day
from firstpiece.shop.job_design import receive_picture, revise_job, set_colorway
from firstpiece.shop.job_order import put_line
from firstpiece.shop.order_questions import ask_order
from firstpiece.shop.prepare import PrepareRequest
from firstpiece.shop.sewout_log import Seen, record_sewout

pytestmark = [pytest.mark.browser, pytest.mark.slow]

PEAR = {"name": "pear.png", "mimeType": "image/png", "buffer": pear_png()}


def press(page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).click()


def put_in_stock(page, origin: str) -> None:
    page.goto(origin + "/stock")
    form = page.locator("#add")
    form.get_by_label("card or name").fill("tee-white")
    form.get_by_label("size").fill("M")
    form.get_by_label("from").fill("the mill")
    press(page, "Put it on the list")
    page.fill("input[name=units]", "6")
    press(page, "Take them in")
    assert "6" in page.locator("h1").inner_text()


def open_agreed_job(page, origin: str) -> int:
    page.goto(origin + "/jobs")
    page.get_by_label("Call it").fill("Shirts for the pickers")
    page.get_by_label("or the new customer").fill("Windfall Row")
    page.fill("input[name=due]", "2031-09-05")
    press(page, "Open the job")
    here = page.url
    page.locator("#order").get_by_label("garment").select_option("tee-white")
    page.fill("input[name=count]", "2")
    page.locator("#order").get_by_label("size").fill("M")
    press(page, "Add it")
    page.set_input_files("#design input[type=file]", PEAR)
    page.locator("#design").get_by_label("at a height of").fill("40 mm")
    press(page, "Plan it")
    page.wait_for_selector("#wait[data-status=done]", timeout=180_000)
    assert "This is revision 1 of" in page.locator("#kept").inner_text()
    page.goto(here)
    press(page, "Offer it")
    page.get_by_label("The yes came from").fill("Ida, by letter")
    press(page, "Record the yes")
    assert "get the blanks" in page.locator(".wait-line").inner_text()
    return int(page.url.rpartition("/")[2].partition("#")[0])


def check_piece(page, origin: str, number: int) -> None:
    piece = tickets.list_tickets(number)[0]
    page.goto(origin + "/tickets")
    page.get_by_label("Ticket", exact=True).fill(piece.code)
    page.get_by_label("Garment in hand").fill("tee-white, L")
    page.get_by_label("Plan loaded").fill(piece.plan_id)
    press(page, "Check the piece")
    assert page.locator(".verdict h1").inner_text() == "WRONG SIZE"
    page.get_by_label("Garment in hand").fill("tee-white, M")
    page.keyboard.press("Enter")
    page.wait_for_selector(".verdict:not(.stop)")
    assert page.locator(".verdict h1").inner_text() == "SEW"
    press(page, "It is sewn")
    assert "1 of 2 sewn" in page.locator(".verdict").inner_text()


def test_the_shops_work_without_scripts(open_desk):
    desk = open_desk(java_script_enabled=False)
    page, origin = desk.enter(), desk.server.origin
    put_in_stock(page, origin)
    number = open_agreed_job(page, origin)
    stale = page.locator("#notes input[name=seen]").get_attribute("value")
    job_book.note_job(number, "somebody else was here")
    page.get_by_label("Note", exact=True).fill("blue bags")
    press(page, "Keep it")
    assert (
        "Somebody else changed this job since you loaded it; nothing was written."
        in page.get_by_role("alert").inner_text()
    )
    assert page.get_by_label("Note", exact=True).input_value() == "blue bags"
    press(page, "Keep it")
    assert [note.text for note in job_book.read_job(number).notes][-1] == "blue bags"
    assert job_book.read_job(number).version == int(stale) + 2
    page.goto(origin + "/stock")
    press(page, f"Take it from the shelf for job {number}")
    page.goto(f"{origin}/job/{number}")
    press(page, "The blanks are here")
    page.goto(origin + "/day?start=2031-09-01")
    assert "Shirts for the pickers" in page.locator("#main").inner_text()
    assert page.locator(".day-picture").bounding_box()["width"] > 100
    check_piece(page, origin, number)


@pytest.fixture(scope="module")
def full_paths(server):
    """Addresses of pages on which everything has something to show."""
    own = stocked("apron-natural", 5, place="shelf B", fibres="cotton")
    stocked("apron-forest", 9, color="natural", fibres="cotton 60, linen 40", feel="crisp")
    agreed = agreed_job(pear_png(), ("apron-natural", 3, "", ("Quentin",)), due=FRIDAY)
    agreed_job(pear_png(), ("apron-natural", 4, "", ()), due=FRIDAY, title="Press aprons")
    priced = agreed_job(pear_png(), ("apron-natural", 2, "", ()), due=FRIDAY, title="Priced")
    revise_job(priced, PrepareRequest(b"", "", 50.0), reason="smaller")
    stock_book.take_for_job(agreed)
    asked = job_book.open_job(title="Scarves", message="Scarves with our tree, please.").id
    job_book.note_job(asked, "Call on Monday.")
    job_book.record_question(asked, "Which red?")
    record_sewout(agreed, Seen(14.5, 4, "a gap", "closer rows", (("p.png", pear_png()),)))
    set_colorway(priced, "dusk", tuple(reversed(job_book.read_job(priced).revision.threads)))
    lettered = job_book.open_job(title="Lettered").id
    receive_picture(lettered, pear_png(), name="pear.png")
    put_line(lettered, OrderLine(0, "tee-white", 5))
    ask_order(lettered)
    load_for_job(plan_shop_day(date(2031, 9, 1)), agreed)
    here = f"/job/{priced}"
    new = ("/kept",
           "/customers", "/customer/1", "/suppliers", "/needles", "/placements", f"{here}/price",
           f"{here}/ask", f"{here}/papers?labels=a4-3x8", f"{here}/compare/1/2",
           "/sewn/apron-natural", f"/job/{lettered}", here)  # fmt: skip
    return (*new, "/day?start=2031-09-01", "/jobs", "/jobs?words=scarves", f"/job/{agreed}",
            f"/job/{asked}", "/stock", f"/stock/{own}", "/layouts",
            "/tickets")  # fmt: skip


@pytest.mark.parametrize("width", [1280, 360])
def test_no_shop_page_has_a_fault_that_a_checker_finds(desk, node_tools, full_paths, width):
    desk.size(width)
    page, origin = desk.enter(), desk.server.origin
    for path in full_paths:
        page.goto(origin + path)
        for summary in page.locator("summary").all():
            summary.click()
        assert find_faults(page, node_tools) == [], path
        assert page.evaluate(SMALL_TARGETS) == [], path
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path
    page.get_by_label("Ticket", exact=True).fill("J1L1P1HEBBE157CGEPF0FG6")
    press(page, "Check the piece")
    page.wait_for_selector(".verdict.stop")
    assert find_faults(page, node_tools) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
