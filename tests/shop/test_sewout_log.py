"""How a sew-out went, through the doors of the shop: photos, plan, cards, paper, backup, export."""

from __future__ import annotations

import json
import re
import zipfile
from dataclasses import replace
from importlib.resources import files
from io import BytesIO

import pypdfium2
import pytest
from PIL import Image
from PIL.ExifTags import GPS, IFD, Base

from firstpiece.errors import CardError, InputError, JobError, PictureError
from firstpiece.model.customer import Customer
from firstpiece.model.order import OrderLine
from firstpiece.shop import job_book, job_design, job_order
from firstpiece.shop.backup_book import back_up, restore
from firstpiece.shop.book import open_book
from firstpiece.shop.cards import open_cards
from firstpiece.shop.customers import export_customer, open_customer
from firstpiece.shop.papers import make_papers
from firstpiece.shop.prepare import PrepareRequest
from firstpiece.shop.record_objects import record_object
from firstpiece.shop.sewout_log import Seen, how_it_sewed, last_remark, record_sewout

TOLD = Seen(minutes=13.5, rating=3, seen="a gap beside the bar", change="more pull on the disc")


@pytest.fixture
def revised(fresh_home, badge):
    customer = open_customer(Customer(0, "Windfall Row"))
    job = job_book.open_job(title="aprons", customer=customer.id)
    job_order.put_line(job.id, OrderLine(0, "apron-natural", 12))
    request = PrepareRequest(data=badge, name="badge.png", height_mm=60.0)
    return job_design.revise_job(job.id, request).job


def shipped_card(kind: str, name: str) -> str:
    """The lines of one shipped card."""
    text = files("firstpiece.data").joinpath(f"{kind}.toml").read_text("utf-8")
    head, body = f"[{name}]", text.split(f"[{name}]\n", 1)[1]
    return head + "\n" + body.split("\n[", 1)[0] + "\n"


def run_sheet_words(number: int) -> str:
    """The run sheet's text, by pdfium's extraction, with lines joined."""
    document = pypdfium2.PdfDocument(make_papers(number)["run-sheet.pdf"])
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    return " ".join(text.split())


def phone_photo() -> bytes:
    """A photo that tells where and with what it was taken."""
    image = Image.new("RGB", (64, 48), (200, 40, 38))
    exif = image.getexif()
    exif[Base.Make] = "orchard box camera"
    exif.get_ifd(IFD.GPSInfo)[GPS.GPSLatitude] = (51.0, 28.0, 38.0)
    out = BytesIO()
    image.save(out, "JPEG", exif=exif)
    assert b"orchard box" in out.getvalue()
    return out.getvalue()


def test_it_is_linked_to_plan_and_cards(revised):
    job = record_sewout(revised.id, TOLD)
    (sewout,) = job.sewouts
    assert sewout.plan_id == revised.revision.plan_id
    assert (sewout.revision, sewout.garment, sewout.thread) == (1, "apron-natural", "poly-40")
    assert len(sewout.cards) == 64
    assert record_object(job)["sewouts"][0]["seen"] == TOLD.seen


def test_other_cards_have_another_mark(revised, fresh_home):
    record_sewout(revised.id, TOLD)
    same = record_sewout(revised.id, TOLD).sewouts
    assert same[0].cards == same[1].cards
    cards = fresh_home / "cards"
    cards.mkdir(parents=True)
    twill = shipped_card("fabrics", open_cards().garment("apron-natural").fabric)
    more, n = re.subn(r"^pull = { value = [\d.]+", "pull = { value = 0.15", twill, flags=re.M)
    assert n == 1
    (cards / "fabrics.toml").write_text(more, encoding="utf-8")
    changed = record_sewout(revised.id, TOLD).sewouts[-1]
    assert changed.cards != same[0].cards


def test_photos_lose_place_and_camera(revised):
    job = record_sewout(revised.id, replace(TOLD, photos=(("sewn.jpg", phone_photo()),)))
    (photo,) = job.sewouts[0].photos
    kept = open_book().pictures.get(photo.hash)
    assert len(kept) == photo.n_bytes
    assert b"orchard box" not in kept
    assert not Image.open(BytesIO(kept)).getexif().get_ifd(IFD.GPSInfo)
    # The design is still made from the artwork, never from a photo of the piece.
    assert job.pictures == revised.pictures


def test_a_photo_that_is_none_writes_nothing(revised):
    with pytest.raises(PictureError):
        record_sewout(revised.id, replace(TOLD, photos=(("sewn.jpg", b"not a photo"),)))
    assert job_book.read_job(revised.id) == revised


def test_what_cannot_be_is_refused_in_words(revised):
    with pytest.raises(InputError, match="rating"):
        record_sewout(revised.id, replace(TOLD, rating=9))
    with pytest.raises(JobError, match="no design"):
        record_sewout(revised.id, replace(TOLD, revision=7))
    with pytest.raises(CardError):
        record_sewout(revised.id, replace(TOLD, garment="sail"))
    with pytest.raises(CardError):
        how_it_sewed("sail")
    empty = job_book.open_job(title="nothing yet")
    with pytest.raises(JobError, match="no design"):
        record_sewout(empty.id, TOLD)


def test_the_next_run_sheet_tells_the_last_remark(revised):
    assert last_remark(revised) == ()
    record_sewout(revised.id, replace(TOLD, seen="first try"))
    job = record_sewout(revised.id, TOLD)
    line = "a gap beside the bar → more pull on the disc"
    assert last_remark(job) == (line,)
    again = job_order.reorder_job(job.id)
    assert last_remark(again) == (line,)
    assert "a gap beside the bar" in run_sheet_words(again.id)
    other = job_book.open_job(title="another design")
    assert last_remark(other) == ()


def test_another_job_on_the_same_garment_is_told_of_it(revised, badge):
    record_sewout(revised.id, TOLD)
    other = job_book.open_job(title="other aprons")
    request = PrepareRequest(data=badge, name="b.png", height_mm=50.0, garment="apron-natural")
    other = job_design.revise_job(other.id, request).job
    (told,) = last_remark(other)
    assert told == "this garment, job 1: a gap beside the bar → more pull on the disc"
    assert [s.job for s in how_it_sewed("apron-natural")] == [revised.id]


def test_backup_and_export_have_it(revised, tmp_path):
    photos = (("sewn.jpg", phone_photo()),)
    job = record_sewout(revised.id, replace(TOLD, photos=photos))
    key = job.sewouts[0].photos[0].hash
    with zipfile.ZipFile(BytesIO(export_customer(job.customer))) as archive:
        assert f"pictures/{key}" in archive.namelist()
        (told,) = json.loads(archive.read("jobs.json"))
    assert told["sewouts"][0]["change"] == TOLD.change
    saved = back_up(tmp_path / "kept.zip")
    record_sewout(job.id, replace(TOLD, rating=1))
    restore(saved.path)
    assert job_book.read_job(job.id) == job
    assert job_design.picture_data(key)
