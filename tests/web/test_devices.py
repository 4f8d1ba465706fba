"""Devices in the shop's network, and attacks on the way in, each of which must fail.

Sources: NIST SP 800-63B-4, 3.2.2 (limits on guessing; one-use secrets of limited life); RFC 6265bis
(HttpOnly, SameSite); RFC 1918 and RFC 4193 for private addresses; RFC 9110 15.5.20 for 421; ISO/IEC
18004 for the symbol, read back by an independent reader (OpenCV).
"""

from __future__ import annotations

import itertools
import json
import math
import re
from collections import namedtuple

import cv2
import numpy as np
import pytest
from tests.web.browserlike import ADDRESS, KEY, ORIGIN, TestClient
from tests.web.pictures import pear_png

from firstpiece.errors import BusyError
from firstpiece.running.inline import InlineRunner
from firstpiece.web import devices as device_book
from firstpiece.web import listening, security
from firstpiece.web.app import create_app
from firstpiece.web.devices import ALPHABET, CODE_LENGTH, CodeError, DeviceBook
from firstpiece.web.security import Guard

NETWORK = "192.168.7.5:8137"
THERE = f"http://{NETWORK}"


class Clock:
    def __init__(self):
        self.now = 1_000_000.0

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def shop(tmp_path, clock):
    """The application with devices let in, its guard, and clients here and elsewhere."""
    book = DeviceBook(tmp_path, clock)
    guard = Guard(frozenset({ADDRESS, NETWORK}), KEY, devices=book, network_host=NETWORK)
    app = create_app(home=tmp_path, guard=guard, runner=InlineRunner())
    here = TestClient(app, base_url=ORIGIN, follow_redirects=False)
    here.get(f"/enter?key={KEY}")
    yield namedtuple("Shop", "app guard book here")(app, guard, book, here)
    app.state.site.live.close()


def _from(shop, address="192.168.7.20") -> TestClient:
    return TestClient(shop.app, base_url=THERE, follow_redirects=False, client=(address, 50_000))


def _join(shop, client, code, **headers):
    fields = {"form_key": shop.guard.join_key, "code": code, "name": "Tablet by the machine"}
    return client.post("/join", data=fields, headers={"origin": THERE, **headers})


def test_a_device_comes_in_by_its_code_and_is_put_out_again(shop):
    shop.here.post(
        "/devices/code", data={"form_key": shop.guard.form_key}, headers={"origin": ORIGIN}
    )
    code = shop.book.code()
    page = shop.here.get("/devices").text
    assert code.spoken in page
    assert "not encrypted" in page
    tablet = _from(shop)
    assert tablet.get("/").headers["location"] == "/join"
    form = tablet.get(f"/join?code={code.text}").text
    assert code.text in form
    assert "not encrypted" in form
    assert shop.book.code() is code, "looking uses nothing up"
    answer = _join(shop, tablet, code.spoken.lower())
    assert answer.status_code == 303
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert tablet.get("/").status_code == 200
    (device,) = shop.book.devices()
    assert device.name == "Tablet by the machine"
    shop.here.post(
        "/devices/out",
        data={"form_key": shop.guard.form_key, "device": device.id},
        headers={"origin": ORIGIN},
    )
    assert tablet.get("/").status_code == 303, "put out, its cookie is worth nothing"


def test_the_symbol_says_the_address_and_the_code(shop):
    code = shop.book.open_code()
    page = shop.here.get("/devices").text
    modules = re.search(r'<path d="([^"]+)" fill="#000"', page)[1]
    side = 4 + max(int(x) for x, _ in re.findall(r"M(\d+) (\d+)h1", modules)) + 1 + 4
    picture = np.full((side, side), 255, np.uint8)
    for x, y in re.findall(r"M(\d+) (\d+)h1", modules):
        picture[int(y) + 4, int(x) + 4] = 0
    picture = cv2.resize(picture, None, fx=8, fy=8, interpolation=cv2.INTER_NEAREST)
    text = cv2.QRCodeDetector().detectAndDecode(picture)[0]
    assert text == f"{THERE}/join?code={code.text}"


def test_a_code_is_used_once(shop):
    code = shop.book.open_code().text
    assert _join(shop, _from(shop), code).status_code == 303
    second = _join(shop, _from(shop, "192.168.7.21"), code)
    assert second.status_code == 403
    assert "set-cookie" not in second.headers
    assert len(shop.book.devices()) == 1


def test_a_code_is_too_old_after_ten_minutes(shop, clock):
    code = shop.book.open_code().text
    clock.now += 600.0
    assert _join(shop, _from(shop), code).status_code == 403


def test_a_new_code_ends_the_one_before(shop):
    old = shop.book.open_code().text
    shop.book.open_code()
    assert _join(shop, _from(shop), old).status_code == 403


def test_guessing_ends_the_code_and_is_slowed_down(shop, clock):
    right = shop.book.open_code().text
    guesses = ("".join(g) for g in itertools.product(ALPHABET, repeat=3))
    for guess in itertools.islice(guesses, device_book.MOST_WRONG):
        assert _join(shop, _from(shop), guess).status_code == 403
    assert _join(shop, _from(shop), right).status_code == 403, "the code died of wrong guesses"
    left = device_book.MOST_TRIES - device_book.MOST_WRONG - 1
    for n in range(left):
        # From ever new addresses: the limit is on guesses, not on guessers.
        assert _join(shop, _from(shop, f"192.168.7.{30 + n}"), "WRONG").status_code == 403
    assert _join(shop, _from(shop), "WRONG").status_code == 429
    clock.now += 61.0
    assert _join(shop, _from(shop), shop.book.open_code().text).status_code == 303
    # 30^8 codes against 20 tries a minute for ten minutes.
    assert device_book.MOST_TRIES * 10 / len(ALPHABET) ** CODE_LENGTH < 1e-9
    assert math.log2(len(ALPHABET) ** CODE_LENGTH) > 39


@pytest.mark.parametrize("code", ["", " ", "--------", "A" * 5000, "٢٣٤٥٦٧٨٩", "\x00"])
def test_an_odd_code_is_refused(shop, code):
    shop.book.open_code()
    assert _join(shop, _from(shop), code).status_code in (403, 422)
    assert shop.book.devices() == ()


def test_no_code_no_entry(shop):
    assert _join(shop, _from(shop), "").status_code == 403
    with pytest.raises(CodeError):
        shop.book.admit("ABCD2345", name="x")


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"origin": ORIGIN},
        {"sec-fetch-site": "cross-site"},
    ],
)
def test_another_site_cannot_let_itself_in(shop, headers):
    code = shop.book.open_code().text
    assert _join(shop, _from(shop), code, **headers).status_code == 403
    assert shop.book.code() is not None


def test_the_form_needs_its_own_key(shop):
    code = shop.book.open_code().text
    for key in ("", "wrong", shop.guard.form_key, KEY):
        answer = _from(shop).post(
            "/join", data={"form_key": key, "code": code}, headers={"origin": THERE}
        )
        assert answer.status_code == 403
    page = _from(shop).get("/join").text
    assert shop.guard.form_key not in page, "a stranger learns no key that is worth anything"
    assert not shop.guard.accepts_form(shop.guard.join_key)


@pytest.mark.parametrize("host", ["evil.example", ADDRESS, "localhost:8137", "192.168.7.5", ""])
def test_from_the_network_only_the_networks_own_name_is_answered(shop, host):
    assert _from(shop).get("/join", headers={"host": host}).status_code == 421


def test_the_computers_own_key_is_worth_nothing_in_the_network(shop):
    stranger = _from(shop)
    assert stranger.get(f"/enter?key={KEY}").status_code == 403
    stranger.cookies.set(shop.guard.cookie_name, KEY)
    assert stranger.get("/").status_code == 303
    assert stranger.get("/devices").status_code == 303


def test_nothing_of_the_shop_is_shown_before_entry(shop):
    stranger = _from(shop)
    for path in ("/", "/devices", "/day", "/jobs", "/jobs/0123456789abcdef", "/nowhere"):
        answer = stranger.get(path)
        assert (answer.status_code, answer.headers["location"]) == (303, "/join"), path
    for path in ("/jobs", "/devices/code", "/devices/out"):
        answer = stranger.post(
            path, data={"form_key": shop.guard.form_key}, headers={"origin": THERE}
        )
        assert answer.status_code == 401, path
    assert shop.book.code() is None


def test_a_device_lets_no_other_in(shop):
    tablet = _from(shop)
    _join(shop, tablet, shop.book.open_code().text)
    fields = {"form_key": shop.guard.form_key, "device": shop.book.devices()[0].id}
    for path in ("/devices/code", "/devices/out"):
        assert tablet.post(path, data=fields, headers={"origin": THERE}).status_code == 403
    shop.book.open_code()
    page = tablet.get("/devices").text
    assert shop.book.code().spoken not in page
    assert "Put" not in page
    assert len(shop.book.devices()) == 1


def test_what_is_written_down_lets_nobody_in(shop, tmp_path):
    tablet = _from(shop)
    _join(shop, tablet, shop.book.open_code().text)
    token = tablet.cookies[shop.guard.device_cookie]
    text = (tmp_path / "devices.json").read_text("utf-8")
    assert token not in text
    (entry,) = json.loads(text)
    thief = _from(shop, "192.168.7.66")
    for stolen in (entry["token_hash"], entry["id"], ""):
        thief.cookies.set(shop.guard.device_cookie, stolen)
        assert thief.get("/").status_code == 303
    assert DeviceBook(tmp_path).knows(token) is False, "thirty days are over by the real clock"


def test_a_device_stays_let_in_over_a_restart_but_not_for_ever(shop, tmp_path, clock):
    tablet = _from(shop)
    _join(shop, tablet, shop.book.open_code().text)
    token = tablet.cookies[shop.guard.device_cookie]
    again = DeviceBook(tmp_path, clock)
    assert again.knows(token)
    clock.now += device_book.STAYS_S
    assert not again.knows(token)
    assert again.devices() == ()


@pytest.mark.parametrize("harm", ["{", "[1]", '[{"id": 1}]', "null"])
def test_a_harmed_list_lets_nobody_in(tmp_path, harm):
    (tmp_path / "devices.json").write_text(harm, "utf-8")
    assert DeviceBook(tmp_path).devices() == ()


def test_without_the_option_the_network_is_refused(tmp_path):
    guard = Guard(frozenset({ADDRESS}), KEY)
    app = create_app(home=tmp_path, guard=guard, runner=InlineRunner())
    stranger = TestClient(app, base_url=ORIGIN, client=("192.168.7.20", 1))
    for path in ("/", "/join", "/devices", f"/enter?key={KEY}", "/static/mark.svg"):
        assert stranger.get(path).status_code == 421
    here = TestClient(app, base_url=ORIGIN)
    here.get(f"/enter?key={KEY}")
    assert "--devices" in here.get("/devices").text
    answer = here.post("/join", data={"form_key": guard.join_key}, headers={"origin": ORIGIN})
    assert answer.status_code == 403
    app.state.site.live.close()


@pytest.mark.parametrize("address", ["0.0.0.0", "127.0.0.1", "::", "8.8.8.8", "2606:4700::1"])
def test_only_a_private_address_is_listened_on(address):
    with pytest.raises(BusyError):
        listening.check_private(address)


@pytest.mark.parametrize("address", ["192.168.7.5", "10.0.0.2", "172.16.3.4", "fd00::7"])
def test_private_addresses_are_those_of_the_standards(address):
    listening.check_private(address)


def test_uploads_are_paced_for_each_device(shop, monkeypatch):
    monkeypatch.setattr(security, "UPLOADS_A_MINUTE", 3)
    fields = {"form_key": shop.guard.form_key, "height": "no length"}
    picture = {"picture": ("art.png", pear_png())}
    answers = [
        shop.here.post("/jobs", data=fields, files=picture, headers={"origin": ORIGIN}).status_code
        for _ in range(5)
    ]
    assert answers == [422, 422, 422, 429, 429]


def test_an_upload_that_would_fill_the_disk_is_refused(tmp_path, monkeypatch):
    guard = Guard(frozenset({ADDRESS}), KEY, disk=tmp_path)
    app = create_app(home=tmp_path, guard=guard, runner=InlineRunner())
    here = TestClient(app, base_url=ORIGIN)
    here.get(f"/enter?key={KEY}")
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr(security.shutil, "disk_usage", lambda _p: usage(10**9, 10**9, 2**28))
    answer = here.post(
        "/jobs",
        data={"form_key": guard.form_key},
        files={"picture": ("a.png", pear_png())},
        headers={"origin": ORIGIN},
    )
    assert answer.status_code == 507
    assert "disk" in answer.text
    app.state.site.live.close()
