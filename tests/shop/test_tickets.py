"""Tickets: a piece is started only when ticket, garment and design agree; all of it is logged."""

from __future__ import annotations

import pytest
from tests.shop.shop_floor import MONDAY, agreed_job, stocked

from firstpiece.errors import InputError, JobError
from firstpiece.files.code_photo import read_codes
from firstpiece.files.pdf import rasterise_pdf
from firstpiece.files.picture import write_png
from firstpiece.model.order import OrderLine
from firstpiece.model.stock import SupplyKind
from firstpiece.model.ticket import PieceStep, Spoil, Wrong, bag_code
from firstpiece.shop import stock_book, tickets
from firstpiece.shop.book import open_book
from firstpiece.shop.code_print import write_tickets
from firstpiece.shop.finishing import finish_job
from firstpiece.shop.job_design import revise_job
from firstpiece.shop.job_order import agree_job, offer_price, put_line
from firstpiece.shop.prepare import PrepareRequest
from firstpiece.shop.substitutes import answer_substitute, ask_substitute
from firstpiece.store.tickets import read_piece_events

pytestmark = pytest.mark.usefixtures("fresh_home")

LINES = (("apron-natural", 2, "", ("Quentin",)), ("tee-white", 1, "M", ()))


def steps(job):
    with open_book().read() as connection:
        return [event.step for event in read_piece_events(connection, job)]


def test_each_piece_has_its_own_code_and_passes_once(badge):
    job = agreed_job(badge, *LINES)
    made = tickets.list_tickets(job)
    assert [(t.line, t.piece, t.name) for t in made] == [(1, 1, "Quentin"), (1, 2, ""), (2, 1, "")]
    assert len({t.code for t in made}) == 3
    first = made[0]
    done = tickets.check_ticket(first.code, bag="apron-natural", design=first.plan_id)
    assert done.agrees
    assert done.headline == "SEW"
    again = tickets.check_ticket(first.code, bag="apron-natural", design=first.plan_id)
    assert [m.wrong for m in again.mismatches] == [Wrong.PIECE]
    assert steps(job) == [PieceStep.STARTED, PieceStep.REFUSED]


def test_what_is_wrong_is_said_and_logged(badge):
    job = agreed_job(badge, *LINES)
    _first, _second, tee = tickets.list_tickets(job)
    design = tee.plan_id
    for bag, loaded, headline in (
        ("tee-white, L", design, "WRONG SIZE"),
        ("tee-white, black, M", design, "WRONG COLOUR"),
        ("apron-natural, white, M", design, "WRONG GARMENT"),
        ("no such thing", design, "UNKNOWN GARMENT"),
        ("tee-white, M", "0badf00d", "WRONG DESIGN"),
        ("tee-white, M", "", "WRONG DESIGN"),
        ("tee-white, M", design[:4], "WRONG DESIGN"),
    ):
        found = tickets.check_ticket(tee.code, bag=bag, design=loaded)
        assert [m.headline for m in found.mismatches] == [headline], bag
    assert steps(job) == [PieceStep.REFUSED] * 7
    with pytest.raises(InputError, match="misread or mistyped"):
        tickets.check_ticket(tee.code[:-1] + "Z", bag="tee-white, M", design=design)


def test_bag_codes_and_barcodes_name_the_blank(badge):
    item = stocked("tee-white", 3, size="M", barcode="5012345678900")
    wrong = stocked("tee-white", 3, size="L")
    job = agreed_job(badge, ("tee-white", 3, "M", ()))
    held = {h.item.id: h.item for h in stock_book.list_stock(SupplyKind.BLANK)}
    one, two, three = tickets.list_tickets(job)
    code = bag_code(item, held[item].key)
    assert tickets.check_ticket(one.code, bag=code, design=one.plan_id).agrees
    assert tickets.check_ticket(two.code, bag="5012345678900", design=two.plan_id).agrees
    other = bag_code(wrong, held[wrong].key)
    assert tickets.check_ticket(three.code, bag=other, design=three.plan_id).headline == (
        "WRONG SIZE"
    )  # fmt: skip


def test_a_ticket_of_an_older_plan_never_passes(badge):
    job = agreed_job(badge, ("apron-natural", 2, "", ()))
    old = tickets.list_tickets(job)[0]
    revise_job(job, PrepareRequest(data=badge, name="badge.png", height_mm=80.0))
    offer_price(job)
    agree_job(job, said_by="Ida")
    new = tickets.list_tickets(job)[0]
    assert new.plan_id != old.plan_id
    for design in (old.plan_id, new.plan_id):
        found = tickets.check_ticket(old.code, bag="apron-natural", design=design)
        assert found.mismatches[0].headline == "OLD TICKET"
    assert tickets.check_ticket(new.code, bag="apron-natural", design=new.plan_id).agrees


def test_a_line_changed_since_printing_makes_old_tickets_void(badge):
    job = agreed_job(badge, ("tee-white", 2, "M", ()))
    old = tickets.list_tickets(job)[0]
    put_line(job, OrderLine(1, "tee-white", 2, size="L"))
    offer_price(job)
    agree_job(job, said_by="Ida")
    found = tickets.check_ticket(old.code, bag="tee-white, M", design=old.plan_id)
    assert [m.headline for m in found.mismatches] == ["OLD TICKET", "WRONG SIZE"]


def test_nothing_is_started_before_the_yes(badge):
    job = agreed_job(badge, ("apron-natural", 2, "", ()))
    old = tickets.list_tickets(job)[0]
    put_line(job, OrderLine(0, "tee-white", 1))  # the yes no longer stands
    with pytest.raises(JobError, match="tickets are for what is agreed"):
        tickets.list_tickets(job)
    found = tickets.check_ticket(old.code, bag="apron-natural", design=old.plan_id)
    assert found.headline == "NO SUCH PIECE"


def test_spoiled_pieces_are_needed_again(badge):
    aprons = stocked("apron-natural", 5)
    job = agreed_job(badge, ("apron-natural", 2, "", ()))
    stock_book.take_for_job(job)
    one = tickets.list_tickets(job)[0]
    with pytest.raises(JobError, match="never started"):
        tickets.record_spoiled(one.code, Spoil.STAIN)
    assert tickets.check_ticket(one.code, bag="apron-natural", design=one.plan_id).agrees
    lost = tickets.record_spoiled(one.code, Spoil.STAIN, note="oil")
    assert (lost.n_sewn, lost.n_spoiled) == (0, 1)
    (share,) = stock_book.list_buying(today=MONDAY).shares
    assert (share.need.count, share.need.taken, share.on_shelf) == (3, 2, 1)
    assert [m.change for m in stock_book.take_for_job(job)] == [-1]
    assert stock_book.read_stock(aprons).holding.count == 2
    assert tickets.check_ticket(one.code, bag="apron-natural", design=one.plan_id).agrees
    assert tickets.record_sewn(one.code).n_sewn == 1
    with pytest.raises(JobError, match="sewn already"):
        tickets.record_sewn(one.code)


def test_sewn_pieces_use_up_the_cones(badge):
    job = agreed_job(badge, ("apron-natural", 2, "", ()))
    from firstpiece.shop.job_book import read_job
    from firstpiece.shop.job_needs import piece_use

    (card, color), metres = min(piece_use(read_job(job)).top_m.items())
    cones = stocked(card, 2, kind="thread", color=color, metres=100)
    one = tickets.list_tickets(job)[0]
    tickets.check_ticket(one.code, bag="apron-natural", design=one.plan_id)
    tickets.record_sewn(one.code)
    holding = stock_book.read_stock(cones).holding
    assert metres <= 200 - holding.count < metres + 1
    assert [lot.place for lot in holding.lots] == ["cone 1", "cone 2"]
    need = next(s.need for s in stock_book.list_buying(today=MONDAY).shares
                if s.need.key.color == color)  # fmt: skip
    assert need.taken == 200 - holding.count


def test_a_substitute_passes_once_the_customer_said_yes(badge):
    stocked("apron-natural", fibres="cotton")
    other = stocked("apron-forest", 5, color="natural", fibres="cotton")
    job = agreed_job(badge, ("apron-natural", 2, "", ()))
    one, _two = tickets.list_tickets(job)
    bag = "apron-forest, natural"
    assert tickets.check_ticket(one.code, bag=bag, design=one.plan_id).headline == "WRONG GARMENT"
    ask_substitute(job, 1, other)
    assert not tickets.check_ticket(one.code, bag=bag, design=one.plan_id).agrees
    answer_substitute(job, 1, other, yes=True)
    assert tickets.check_ticket(one.code, bag=bag, design=one.plan_id).agrees


def test_printed_tickets_are_read_back_by_an_outside_reader(badge, tmp_path):
    job = agreed_job(badge, *LINES)
    (file,) = write_tickets(job, tmp_path)
    page = write_png(rasterise_pdf(file.read_bytes(), dpi=200)[0])
    assert sorted(read_codes(page, name="page.png")) == sorted(
        t.code for t in tickets.list_tickets(job)
    )
    assert steps(job) == [PieceStep.PRINTED]


def test_finishing_counts_what_is_sewn_and_then_writes_the_message(badge):
    job = agreed_job(badge, ("tee-white", 1, "M", ("Quentin",)))
    before = finish_job(job)
    assert [(p.sewn, p.agreed, p.is_complete) for p in before.pack_list] == [(0, 1, False)]
    assert before.message == ""
    (one,) = tickets.list_tickets(job)
    tickets.check_ticket(one.code, bag="tee-white, M", design=one.plan_id)
    tickets.record_sewn(one.code)
    after = finish_job(job)
    assert after.pack_list[0].is_complete
    assert after.message.startswith("Hello Windfall Row,")
    assert any("soft cover" in line for line in after.checklist)  # a tee touches the skin
    assert any("Cut the backing back" in line for line in after.checklist)
