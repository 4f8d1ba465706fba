"""A job from the first message to the reorder, through the doors that page and command line use."""

from __future__ import annotations

import json
import zipfile
from datetime import date
from io import BytesIO

import pytest
from moneyed import Money
from PIL import Image
from PIL.ExifTags import GPS, IFD

from firstpiece.errors import CardError, InputError, JobError, PictureError, StaleError, StoreError
from firstpiece.model.customer import Customer
from firstpiece.model.job import JobState, Waiting
from firstpiece.model.order import OrderLine
from firstpiece.model.region import TraceOptions
from firstpiece.model.stitch import StitchSpec
from firstpiece.shop import book, job_book, job_design, job_order
from firstpiece.shop.backup_book import back_up, list_backups, restore, try_backup
from firstpiece.shop.customers import (
    change_customer,
    erase_customer,
    export_customer,
    open_customer,
    read_customer,
)
from firstpiece.shop.job_intake import open_with_pictures
from firstpiece.shop.prepare import PrepareRequest
from firstpiece.store.database import open_store

LINE = OrderLine(0, "apron-natural", 12)


def request(data: bytes = b"", **more) -> PrepareRequest:
    return PrepareRequest(data=data, name="badge.png", height_mm=60.0, **more)


@pytest.fixture
def revised(fresh_home, badge):
    """A job with an order and a first design."""
    customer = open_customer(Customer(0, "Windfall Row"))
    job = job_book.open_job(title="aprons", customer=customer.id, due=date(2031, 9, 1))
    job_order.put_line(job.id, LINE)
    return job_design.revise_job(job.id, request(badge), reason="first draft")


def test_the_revision_holds_what_its_plan_was_made_of(revised, badge):
    revision, prepared = revised.job.revision, revised.prepared
    assert revision.plan_id == prepared.plan.content_id()
    assert revision.n_stitches == prepared.forecast.n_stitches
    assert revision.threads == tuple(t.name for t in prepared.plan.threads)
    assert (revision.garment, revision.quantity) == ("apron-natural", 12)
    assert revision.each == prepared.quote.each
    assert revision.reason == "first draft"
    # Made again from what is kept, it is the same plan.
    assert job_design.prepare_revision(revised.job).plan.content_id() == revision.plan_id


def test_wishes_are_kept_with_the_revision_and_used_again(revised):
    wishes = {0: StitchSpec(row_spacing_mm=0.55)}
    options = TraceOptions(n_colors=2)
    again = job_design.revise_job(
        revised.job.id, request(specs=wishes, options=options), reason="lighter"
    )
    revision = again.job.revision
    assert (revision.number, dict(revision.specs), revision.options) == (2, wishes, options)
    assert revision.plan_id != revised.job.revision.plan_id
    assert job_design.prepare_revision(again.job).plan.content_id() == revision.plan_id
    first = job_design.prepare_revision(again.job, number=1)
    assert first.plan.content_id() == revised.job.revision.plan_id
    change = job_design.compare(again.job.id, 1, 2)
    assert change.n_stitches == revision.n_stitches - revised.job.revision.n_stitches
    areas = {a.after_id: a for a in job_design.compare_areas(again.job.id, 1, 2)}
    assert "0.55" in " ".join(areas[0].changes)
    assert areas[0].reason
    with pytest.raises(JobError, match="no revision 7"):
        job_design.compare(again.job.id, 1, 7)


def test_offer_yes_sewing_and_a_reorder_with_the_cards_that_worked(revised):
    number = revised.job.id
    offered = job_order.offer_price(number, valid_until=date(2031, 6, 1))
    assert offered.offer.quantity == 12
    assert offered.offer.total == revised.prepared.quote.total
    agreed = job_order.agree_job(number, said_by="Ida, by letter")
    assert agreed.agreed.price == offered.offer.total
    assert agreed.agreed.plan_id == revised.job.revision.plan_id
    for state in (JobState.SUPPLIED, JobState.SEWING, JobState.DONE):
        done = job_book.step_job(number, state)
    assert done.waiting == Waiting.NOTHING
    again = job_order.reorder_job(number, due=date(2032, 9, 1))
    assert (again.id, again.reorder_of, again.waiting) == (2, 1, Waiting.PRICE)
    assert job_design.prepare_revision(again).plan.content_id() == agreed.agreed.plan_id
    page = job_book.read_page(2)
    assert page.customer.name == "Windfall Row"
    assert [e.number for e in page.log] == list(range(1, len(page.log) + 1))
    found = job_book.search_shop("windfall apr")
    assert [j.id for j in found.jobs] == [2, 1]
    assert [j.id for j in job_book.list_jobs().jobs] == [2]


def test_a_page_that_saw_an_older_version_is_told(revised, badge):
    seen = revised.job.version
    job_book.note_job(1, "meanwhile")
    for action in (
        lambda: job_book.change_head(1, {"title": "x"}, expected=seen),
        lambda: job_order.put_line(1, LINE, expected=seen),
        lambda: job_order.offer_price(1, expected=seen),
        lambda: job_design.revise_job(1, request(badge), expected=seen),
    ):
        with pytest.raises(StaleError):
            action()
    assert len(job_book.read_job(1).revisions) == 1


def test_a_plan_made_while_the_order_changed_is_not_kept(revised, badge, monkeypatch):
    real = job_design.prepare

    def slow(asked, report=None):
        job_order.put_line(1, LINE)
        return real(asked, report=report)

    monkeypatch.setattr(job_design, "prepare", slow)
    with pytest.raises(StaleError):
        job_design.revise_job(1, request(badge))


def jpeg_with_place() -> bytes:
    exif = Image.Exif()
    gps = exif.get_ifd(IFD.GPSInfo)
    gps[GPS.GPSLatitudeRef], gps[GPS.GPSLatitude] = "N", (51.0, 28.0, 38.0)
    out = BytesIO()
    Image.linear_gradient("L").convert("RGB").save(out, "JPEG", exif=exif)
    return out.getvalue()


@pytest.mark.parametrize("way", ["with the job", "later", "as a design"])
def test_the_place_in_a_picture_is_gone_however_it_arrives(fresh_home, way):
    data = jpeg_with_place()
    assert Image.open(BytesIO(data)).getexif().get_ifd(IFD.GPSInfo)
    if way == "with the job":
        job = open_with_pictures([("a.jpg", data)], title="caps")
    else:
        job = job_book.open_job(title="caps")
        if way == "later":
            job = job_design.receive_picture(job.id, data, name="a.jpg")
        else:
            job = job_design.revise_job(job.id, request(data)).job
    (picture,) = job.pictures
    kept = job_design.picture_data(picture.hash)
    assert not Image.open(BytesIO(kept)).getexif().get_ifd(IFD.GPSInfo)
    # Nothing else with the place in it was put down anywhere in the home.
    assert not [p for p in fresh_home.rglob("*") if p.is_file() and data in p.read_bytes()]


def test_what_cannot_be_kept_leaves_nothing(fresh_home):
    with pytest.raises(PictureError):
        open_with_pictures([("a.png", b"not a picture")], title="caps")
    assert job_book.list_jobs().jobs == ()
    job = job_book.open_job(title="caps")
    with pytest.raises(JobError, match="no picture yet"):
        job_design.revise_job(job.id, request())
    with pytest.raises(CardError):
        job_order.put_line(job.id, OrderLine(0, "toga", 1))
    with pytest.raises(JobError, match="no lines yet"):
        job_order.offer_price(job.id)
    assert job_book.read_job(job.id) == job


def test_lines_change_field_by_field(revised):
    job = job_order.change_line(1, 1, {"count": 20, "size": "L"})
    assert [(x.count, x.size, x.garment) for x in job.lines] == [(20, "L", "apron-natural")]
    with pytest.raises(InputError, match="names for 1 pieces"):
        job_order.change_line(1, 1, {"count": 1, "names": ("a", "b")})
    assert job_order.remove_line(1, 1).lines == ()


def test_a_customer_gets_everything_kept_and_can_go(revised, badge):
    job_order.agree_job(1, said_by="Ida", price=Money("99", "GBP"))
    change_customer(1, {"name": "Greengage Row", "notes": "likes plums"}, expected=1)
    assert [j.id for j in job_book.search_shop("greengage").jobs] == [1]
    with zipfile.ZipFile(BytesIO(export_customer(1))) as archive:
        told = json.loads(archive.read("customer.json"))
        (record,) = json.loads(archive.read("jobs.json"))
        pictures = [archive.read(n) for n in archive.namelist() if n.startswith("pictures/")]
    assert (told["name"], told["notes"]) == ("Greengage Row", "likes plums")
    assert record["agreed"]["said_by"] == "Ida"
    assert record["agreed"]["price"] == {"amount": "99", "currency": "GBP"}
    assert record["log"][0]["kind"] == "opened"
    assert pictures == [job_design.picture_data(record["pictures"][0]["hash"])]

    done = erase_customer(1)
    assert done.jobs == (1,)
    assert read_customer(1).is_erased
    left = job_book.read_job(1)
    assert (left.title, left.agreed.said_by, left.agreed.price) == ("", "", Money("99", "GBP"))
    with pytest.raises(StoreError, match="missing"):
        job_design.prepare_revision(left)


def test_back_up_change_and_go_back(revised, fresh_home):
    saved = back_up()
    assert saved.path.parent == fresh_home / "backups"
    assert try_backup(saved.path).manifest.n_jobs == 1
    job_book.note_job(1, "since then")
    done = restore(saved.path)
    assert job_book.read_job(1) == revised.job
    # What was there before can be had back as well.
    restore(done.before)
    assert job_book.read_job(1).notes[-1].text == "since then"
    assert {saved.path, done.before} <= set(list_backups())


def test_a_damaged_store_is_put_aside_and_restored(revised, fresh_home):
    saved = back_up()
    store = fresh_home / "store.sqlite"
    book.open_book().close()
    book._book_at.cache_clear()
    for part in ("-wal", "-shm"):
        store.with_name(store.name + part).unlink(missing_ok=True)
    store.write_bytes(b"spilt tea" * 1000)
    with pytest.raises(StoreError, match="restore"):
        job_book.read_job(1)
    done = restore(saved.path)
    assert done.before.read_bytes().startswith(b"spilt tea")
    assert job_book.read_job(1) == revised.job


def test_a_backup_is_taken_before_the_tables_change(fresh_home, monkeypatch):
    from firstpiece.store import database, migrate

    class Next:
        NAME = "next"

        @staticmethod
        def upgrade(op, dialect):
            op.execute("ALTER TABLE counters ADD COLUMN note TEXT")

    job_book.open_job(title="before")
    book.open_book().close()
    book._book_at.cache_clear()
    head = migrate.HEAD + 1
    monkeypatch.setattr(migrate, "STEPS", (*migrate.STEPS, Next))
    monkeypatch.setattr(migrate, "HEAD", head)
    monkeypatch.setattr(database, "HEAD", head)
    monkeypatch.setitem(migrate.migrate.__kwdefaults__, "up_to", head)
    job_book.read_job(1)
    (path,) = (fresh_home / "backups").iterdir()
    assert path.name.startswith(f"before-schema-{head}-")
    with zipfile.ZipFile(path) as archive:
        assert json.loads(archive.read("manifest.json"))["schema"] == head - 1
    book.open_book().close()
    book._book_at.cache_clear()


def test_old_automatic_backups_leave_and_others_stay(fresh_home, tmp_path):
    folder = fresh_home / "backups"
    folder.mkdir(parents=True)
    (folder / "firstpiece-20310101T000000.zip").write_bytes(b"")
    for n in range(15):
        (folder / f"before-schema-2-203101{n:02d}T000000.zip").write_bytes(b"")
    store = open_store(str(tmp_path / "s.sqlite"), pictures=tmp_path, at=book.now())
    book._saver(folder)(store, 1)
    store.close()
    names = [p.name for p in folder.iterdir()]
    assert len([n for n in names if n.startswith("before-")]) == book.KEPT_BEFORE_MIGRATION
    assert "firstpiece-20310101T000000.zip" in names


def test_the_store_may_be_elsewhere(fresh_home, tmp_path, monkeypatch):
    from firstpiece.store.home import store_address

    assert store_address() == str(fresh_home / "store.sqlite")
    fresh_home.mkdir()
    (fresh_home / "settings.toml").write_text('store = "/elsewhere/shop.sqlite"\n')
    assert store_address() == "/elsewhere/shop.sqlite"
    monkeypatch.setenv("FIRSTPIECE_STORE", str(tmp_path / "own.sqlite"))
    job_book.open_job(title="there")
    assert (tmp_path / "own.sqlite").is_file()
    monkeypatch.delenv("FIRSTPIECE_STORE")
    (fresh_home / "settings.toml").write_text("store = 7")
    with pytest.raises(InputError, match=r"settings\.toml"):
        store_address()
