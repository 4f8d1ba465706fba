"""More attacks on the page: what is sent as a picture, how much of it, and what leaves the house.

Sources: OWASP File Upload and XML External Entity Prevention cheat sheets; RFC 7578 for forms in
parts; CSP Level 3.
"""

from __future__ import annotations

import ipaddress
import re
import socket
import struct
import zlib

import pytest
from tests.web.browserlike import ORIGIN
from tests.web.pictures import pear_png

from firstpiece.running.pool import MEMORY_BYTES, PoolRunner
from firstpiece.web import live
from firstpiece.web.job_folder import Asked
from firstpiece.web.live import LiveWork

SCRIPTED_SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"
 width="40" height="40" onload="alert(1)">
<script>alert(2)</script><style>@import url(http://evil.example/a.css); rect{fill:#c03020}</style>
<image xlink:href="http://evil.example/spy.png" width="9" height="9"/>
<foreignObject><iframe xmlns="http://www.w3.org/1999/xhtml" src="http://evil.example/"/></foreignObject>
<a xlink:href="javascript:alert(3)"><rect id="r" x="4" y="4" width="30" height="30"
 style="background:url(http://evil.example/b)" onclick="alert(4)"/></a></svg>"""


@pytest.fixture
def closed_house(monkeypatch):
    """Nothing may be asked of another machine, nor its name looked up."""

    def guarded(real):
        def connect(self, address):
            if isinstance(address, tuple) and not ipaddress.ip_address(address[0]).is_loopback:
                pytest.fail(f"something left the house: {address}")
            return real(self, address)

        return connect

    for name in ("connect", "connect_ex"):
        monkeypatch.setattr(socket.socket, name, guarded(getattr(socket.socket, name)))

    def look_up(host, *_rest, **_more):
        pytest.fail(f"a name was looked up: {host}")

    monkeypatch.setattr(socket, "getaddrinfo", look_up)
    monkeypatch.setattr(socket, "gethostbyname", look_up)


def _run(page):
    (job,) = page.site.folder.jobs()
    return job, f"/jobs/{job.id}/{job.run_id}"


def test_a_scripted_drawing_is_sewn_and_nothing_of_the_script_comes_back(page, closed_house):
    page.bring(SCRIPTED_SVG, "logo.svg", height="40 mm")
    job, here = _run(page)
    assert page.site.live.state(job.id, job.run_id)["status"] == "done"
    folder = page.site.folder.path(job.id, job.run_id)
    names = [p.name for p in folder.iterdir() if p.suffix in (".svg", ".png", ".jpg")]
    answers = [page.get(f"{here}/pictures/{n}") for n in names] + [page.get(here), page.get("/")]
    assert sum(a.status_code == 200 for a in answers) >= 5
    for answer in answers:
        for word in (b"alert", b"evil.example", b"foreignObject", b"onload", b"<script>"):
            assert word not in answer.content
    for path in ("/day", "/jobs", "/stock", "/tickets", "/layouts", "/devices", here + "/layers"):
        assert page.get(path).status_code == 200


def _png_that_claims(width: int, height: int) -> bytes:
    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(99)))


ENTITIES = "".join(
    f'<!ENTITY b{i} "&b{i - 1};&b{i - 1};&b{i - 1};&b{i - 1};">' for i in range(1, 20)
)
BOMB = f'<!DOCTYPE s [<!ENTITY b0 "ha">{ENTITIES}]><svg xmlns="http://www.w3.org/2000/svg"><text>&b19;</text></svg>'
THIEF = '<!DOCTYPE s [<!ENTITY x SYSTEM "file:///etc/passwd">]><svg xmlns="http://www.w3.org/2000/svg"><text>&x;</text></svg>'


@pytest.mark.parametrize(
    "data",
    [_png_that_claims(60_000, 60_000), BOMB.encode(), THIEF.encode(), b"GIF89a" + bytes(99)],
    ids=["60,000 pixels square", "entities in entities", "a file of ours", "another kind"],
)
def test_a_hostile_file_ends_in_one_sentence(page, data, closed_house):
    html = page.bring(data, "innocent.png", height="40 mm").text
    for job in page.site.folder.jobs():
        state = page.site.live.state(job.id, job.run_id)
        assert state["status"] == "failed"
        assert state["fault"].endswith(".")
        html += page.get(f"/jobs/{job.id}/{job.run_id}").text
    assert 'role="alert"' in html or "waits for a change" in html
    assert "root:" not in html
    assert "Something went wrong" not in html


@pytest.mark.parametrize(
    "fields",
    [
        {f"f{i}": "x" for i in range(1100)},
        {"height": "9" * 2_000_000},
        {"height": "1" * 300},
    ],
    ids=["1,100 parts", "a part of 2 MB", "a field of 300 letters"],
)
def test_forms_with_too_many_or_too_large_parts_are_refused(page, fields):
    answer = page.post("/jobs", files={"picture": ("a.png", pear_png())}, **fields)
    assert answer.status_code in (400, 413, 422)
    assert page.site.folder.jobs() == ()


def test_a_picture_cannot_be_read_in_the_page_itself(page, monkeypatch):
    """What came from outside is decoded by a worker only: the page's own process never does."""
    page.bring(pear_png(), height="40 mm")
    _job, here = _run(page)

    def decode(*_args, **_more):
        pytest.fail("a picture was decoded in the page's own process")

    monkeypatch.setattr("PIL.Image.open", decode)
    assert page.get(here).status_code == 200
    assert page.get("/").status_code == 200


def _take_all_memory(_context, _request):
    return len(bytearray(MEMORY_BYTES + 2**30))


def test_a_worker_cannot_take_all_memory():
    with PoolRunner(1) as runner, pytest.raises(MemoryError):
        runner.submit(_take_all_memory, None).result()


def test_work_that_never_ends_is_ended(tmp_path, page, monkeypatch):
    monkeypatch.setattr(live, "LONGEST_S", 0.2)

    def endless(context, _request):
        while True:
            context.check()

    monkeypatch.setattr(live, "TASKS", {"prepare": endless})
    folder = page.site.folder
    job = folder.take(pear_png(), label="a.png", asked=Asked(40.0, "40 mm", "tee-white"))
    work = LiveWork(page.site.live._runner, folder, tmp_path)
    work.prepare(job.id, job.run_id)
    work.wait()
    state = work.state(job.id, job.run_id)
    assert state["status"] == "failed"
    assert re.search(r"took longer", state["fault"])


def test_work_without_memory_ends_in_one_sentence(tmp_path, page, monkeypatch):
    def hungry(_context, _request):
        raise MemoryError

    monkeypatch.setattr(live, "TASKS", {"prepare": hungry})
    folder = page.site.folder
    job = folder.take(pear_png(), label="a.png", asked=Asked(40.0, "40 mm", "tee-white"))
    work = LiveWork(page.site.live._runner, folder, tmp_path)
    work.prepare(job.id, job.run_id)
    work.wait()
    assert "memory" in work.state(job.id, job.run_id)["fault"]


def test_only_forms_of_ours_reach_a_handler_whatever_their_kind(page):
    """A form that a page of another site can send without asking: its three kinds, no Origin."""
    for kind in (
        "text/plain",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
    ):
        answer = page.client.post(
            "/jobs/example", content=b"form_key=x", headers={"content-type": kind}
        )
        assert answer.status_code == 403
    answer = page.client.post(
        "/jobs/example", content=b"", headers={"content-type": "text/plain", "origin": ORIGIN}
    )
    assert answer.status_code == 403
    assert page.site.folder.jobs() == ()
