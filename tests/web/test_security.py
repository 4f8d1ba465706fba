"""Attacks on a page that listens on a person's own computer, each of which must fail.

Sources: W3C Fetch Metadata (Sec-Fetch-Site) and RFC 6454 (Origin) for cross-site requests; RFC 9110
15.5.20 for 421 Misdirected Request against rebound host names; CSP Level 3; RFC 6265bis SameSite.
"""

from __future__ import annotations

import re
from importlib.resources import files as package_files

import pytest
from tests.web.browserlike import ADDRESS, KEY, ORIGIN, UPLOAD_LIMIT, TestClient
from tests.web.pictures import NOTHING_SVG

from firstpiece.web.security import HEADERS


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "127.0.0.1",
        "127.0.0.1:81",
        "127.0.0.1:8137.evil.example",
        "0.0.0.0:8137",
        "",
    ],
)
def test_a_rebound_host_name_is_misdirected(page, host):
    assert page.get("/", host=host).status_code == 421


def test_our_own_host_name_is_answered(page):
    assert page.get("/", host=ADDRESS).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"origin": ORIGIN + ".evil.example"},
        {"origin": "http://127.0.0.1:81"},
        {"origin": ORIGIN, "sec-fetch-site": "cross-site"},
        {"origin": ORIGIN, "sec-fetch-site": "same-site"},
        {},
    ],
)
def test_a_change_from_elsewhere_is_refused(page, headers):
    fields = {"form_key": page.site.guard.form_key, "height": "90 mm"}
    answer = page.client.post("/jobs/example", data=fields, headers=headers)
    assert answer.status_code == 403
    assert page.site.folder.jobs() == ()


def test_a_form_without_this_sessions_key_is_refused(page):
    for key in ("", "wrong", KEY):
        answer = page.client.post(
            "/jobs/example", data={"form_key": key}, headers={"origin": ORIGIN}
        )
        assert answer.status_code == 403
    assert page.site.folder.jobs() == ()


def test_nothing_is_shown_without_the_cookie(page):
    stranger = TestClient(page.client.app, base_url=ORIGIN, follow_redirects=False)
    for path in ("/", "/jobs/0123456789abcdef", "/jobs/0123456789abcdef/0123456789abcdef/state"):
        assert stranger.get(path).status_code == 401
    stranger.cookies.set(page.site.guard.cookie_name, "guess")
    assert stranger.get("/").status_code == 401
    assert stranger.get("/enter?key=guess").status_code == 401
    assert "set-cookie" not in stranger.get("/enter?key=guess").headers


def test_the_cookie_is_for_the_server_and_this_site_only(page):
    cookie = page.get(f"/enter?key={KEY}").headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie


def test_an_upload_over_the_limit_is_refused_by_its_length(page):
    answer = page.bring(b"\x89PNG" + bytes(UPLOAD_LIMIT))
    assert answer.status_code == 413
    assert page.site.folder.jobs() == ()


def test_an_upload_without_a_length_is_counted_while_it_streams(page):
    taken = 0

    def body():
        nonlocal taken
        yield b'--x\r\nContent-Disposition: form-data; name="picture"; filename="a.png"\r\n\r\n'
        for _ in range(64):
            taken += 2**18
            yield bytes(2**18)
        yield b"\r\n--x--\r\n"

    headers = {"origin": ORIGIN, "content-type": "multipart/form-data; boundary=x"}
    answer = page.client.post("/jobs", content=body(), headers=headers)
    assert answer.status_code == 413
    assert page.site.folder.jobs() == ()


@pytest.mark.parametrize("length", ["-1", "1e9", "x"])
def test_a_false_length_is_refused(page, length):
    answer = page.client.post(
        "/jobs", content=b"", headers={"origin": ORIGIN, "content-length": length}
    )
    assert answer.status_code == 413


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_other_methods_are_not_offered(page, method):
    assert page.client.request(method, "/", headers={"origin": ORIGIN}).status_code == 405


def test_every_answer_carries_the_strict_headers(page):
    answers = [
        page.get("/"),
        page.get("/static/traveller.css"),
        page.get("/nowhere"),
        page.get("/jobs/0123456789abcdef"),
        page.get("/", host="evil.example"),
        page.client.put("/"),
        page.client.post("/jobs", headers={"origin": "null"}),
        page.get(f"/enter?key={KEY}"),
    ]
    assert {a.status_code for a in answers} == {200, 404, 421, 405, 403, 303}
    for answer in answers:
        for name, value in HEADERS.items():
            assert answer.headers[name] == value
        assert not any(h.startswith("access-control-") for h in answer.headers)


def test_a_fault_of_ours_is_one_sentence_with_the_strict_headers(page, monkeypatch, caplog):
    def broken(**_how):
        msg = "secret detail"
        raise ZeroDivisionError(msg)

    monkeypatch.setattr(page.site.folder, "jobs", broken)
    answer = page.get("/")
    assert answer.status_code == 500
    assert answer.headers["Content-Security-Policy"] == HEADERS["Content-Security-Policy"]
    assert "secret" not in answer.text
    assert "secret detail" in caplog.text


def test_the_policy_lets_nothing_in_from_outside_and_nothing_inline():
    policy = dict(
        part.strip().split(" ", 1) for part in HEADERS["Content-Security-Policy"].split(";")
    )
    assert policy["default-src"] == policy["script-src"] == policy["style-src"] == "'self'"
    assert policy["object-src"] == policy["base-uri"] == policy["frame-ancestors"] == "'none'"
    assert "unsafe" not in HEADERS["Content-Security-Policy"]


def _templates():
    folder = package_files("firstpiece") / "web" / "templates"
    return [(f.name, f.read_text("utf-8")) for f in folder.iterdir() if f.name.endswith(".html")]


def test_templates_hold_no_inline_script_or_style_and_no_outside_address():
    assert len(_templates()) > 5
    for name, text in _templates():
        assert not re.search(r"<style|\sstyle=|\son\w+=|javascript:", text), name
        assert not re.search(r"<script(?![^>]*\ssrc=)", text), name
        assert not re.search(r"(?:src|href|action)=[\"'](?:https?:)?//", text), name
        assert "|safe" not in text, name


def test_every_form_that_changes_something_carries_the_key():
    for name, text in _templates():
        for form in re.findall(r"<form\b.*?</form>", text, re.DOTALL):
            if 'method="get"' in form:
                # A question is put into the address, where the key must never stand.
                assert re.search(r'action="(/jobs|/day|\{\{ here \}\}/(papers|price))"', form), name
                assert "form_key" not in form, name
                continue
            assert 'method="post"' in form, name
            assert "form_key.html" in form, name


def test_reading_writes_nothing(page):
    page.bring(NOTHING_SVG)
    (job,) = page.site.folder.jobs()

    def files():
        return {p: (p.stat().st_mtime_ns, p.stat().st_size) for p in page.home.rglob("*")}

    before = files()
    here = f"/jobs/{job.id}/{job.run_id}"
    parts = ("", "/state", "/events", "/sewing", "/files/proof.pdf", "/pictures/original.png")
    for path in ("/", f"/jobs/{job.id}", "/jobs/none", *(here + part for part in parts)):
        page.get(path)
    assert files() == before


@pytest.mark.parametrize(
    "path",
    [
        "/jobs/..%2f..%2fetc",
        "/jobs/0123456789abcdef%2f..",
        "/jobs/{job}/../../../etc/passwd",
        "/jobs/{job}/{run}/files/..%2frequest.json",
        "/jobs/{job}/{run}/files/%2fetc%2fpasswd",
        "/jobs/{job}/{run}/pictures/request.json",
        "/jobs/{job}/{run}/pictures/..%2f..%2fpicture",
        "/static/../app.py",
        "/static/..%2fapp.py",
        "/jobs/{job}/{run}/state?of=../../job",
    ],
)
def test_no_path_leads_out_of_the_folder(page, path):
    page.bring(NOTHING_SVG)
    (job,) = page.site.folder.jobs()
    answer = page.get(path.format(job=job.id, run=job.run_id))
    assert answer.status_code in (404, 405)
    assert b"root:" not in answer.content


def test_a_file_name_is_a_label_and_is_escaped(page):
    page.bring(NOTHING_SVG, name="../../<script>alert(1)</script>.png")
    (job,) = page.site.folder.jobs()
    assert "/" not in job.label
    html = page.get(f"/jobs/{job.id}").text + page.get("/").text
    assert "<script>alert" not in html
    assert all(page.home in p.parents for p in page.home.rglob("*"))


def test_the_interface_description_is_not_published(page):
    for path in ("/docs", "/redoc", "/openapi.json"):
        assert page.get(path).status_code == 404
