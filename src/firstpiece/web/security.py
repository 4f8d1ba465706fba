"""The guard in front of every request to the local page.

Input: an ASGI application and a ``Guard``. Output: an application that answers only our own host
name, only the person who holds the session's key or a device that was let in, takes changes only
from our own pages, stops uploads over the limit while they stream in, and sends the same strict
headers with every answer.
"""

from __future__ import annotations

import hashlib
import hmac
import ipaddress
import logging
import shutil
import time
from collections import deque
from dataclasses import dataclass, field
from gettext import gettext as _
from http.cookies import CookieError, SimpleCookie
from typing import TYPE_CHECKING

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from firstpiece.web.devices import DeviceBook

_log = logging.getLogger(__name__)

UPLOAD_LIMIT_BYTES = 40 * 2**20
UPLOADS_A_MINUTE = 30
"""Of one device: a hand does not drop more pictures than this."""

ROOM_BYTES = 300 * 2**20
"""What stays free on the disk, so that the shop's own records can always be written."""

FORM_KEY = "form_key"

POLICY = (
    "default-src 'self'; img-src 'self' blob: data:; script-src 'self'; style-src 'self'; "
    "object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=(), payment=(), usb=()",
}


@dataclass(frozen=True, slots=True)
class Guard:
    """What the guard holds requests against.

    Parameters
    ----------
    hosts : frozenset of str
        Exact ``host:port`` values of the Host header that are ours.
    key : str
        The session's secret, carried by the opened link once and by a cookie afterwards; taken
        from this computer only.
    upload_limit_bytes : int
    devices : DeviceBook or None
        Devices that may come in from the network; None lets in none.
    network_host : str
        ``host:port`` in the network, one of ``hosts``; empty when there is none.
    disk : pathlib.Path or None
        Where uploads are kept; its free room is looked at before one is taken.
    """

    hosts: frozenset[str]
    key: str = field(repr=False)
    upload_limit_bytes: int = UPLOAD_LIMIT_BYTES
    devices: DeviceBook | None = None
    network_host: str = ""
    disk: Path | None = None

    @property
    def cookie_name(self) -> str:
        """Cookies are shared by all ports of a host, so the name carries ours."""
        port = sorted(self.hosts)[0].rpartition(":")[2]
        return f"firstpiece-{port}"

    @property
    def device_cookie(self) -> str:
        """Name of the cookie that holds a device's token."""
        return f"{self.cookie_name}-device"

    @property
    def join_key(self) -> str:
        """The hidden field of the form a device comes in by; good for that form only."""
        return hmac.new(self.key.encode(), b"join", hashlib.sha256).hexdigest()

    @property
    def form_key(self) -> str:
        """The value every form carries in a hidden field, derived from the session's key."""
        return hmac.new(self.key.encode(), b"form", hashlib.sha256).hexdigest()

    def knows(self, key: str) -> bool:
        """Return whether this is the session's key, in constant time."""
        return hmac.compare_digest(key.encode(), self.key.encode())

    def accepts_join(self, form_key: str) -> bool:
        """Return whether the form a device comes in by was made by this session."""
        return hmac.compare_digest(form_key.encode(), self.join_key.encode())

    def accepts_form(self, form_key: str) -> bool:
        """Return whether a form's hidden field is the one we gave out."""
        return hmac.compare_digest(form_key.encode(), self.form_key.encode())


class _TooLargeError(Exception):
    """Raised inside ``receive`` when a body grows over the limit."""


class _UploadPace:
    """How many uploads each visitor began in the last minute."""

    def __init__(self) -> None:
        self._begun: dict[str, deque[float]] = {}

    def is_too_quick(self, visitor: str) -> bool:
        now = time.monotonic()
        begun = self._begun.setdefault(visitor, deque())
        while begun and now - begun[0] > 60.0:
            begun.popleft()
        begun.append(now)
        return len(begun) > UPLOADS_A_MINUTE


class GuardMiddleware:
    """Wraps an application with the checks of a ``Guard``."""

    def __init__(self, app: ASGIApp, guard: Guard) -> None:
        self._app = app
        self._guard = guard
        self._pace = _UploadPace()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it with one sentence."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            # No websocket is offered, so none is let through unchecked.
            await send({"type": "websocket.close", "code": 1008})
            return
        guarded = _with_headers(send)
        # Set here and nowhere else, so that no visitor can claim it.
        scope["firstpiece.is_here"] = not _is_remote(scope)
        refusal = _refusal(scope, self._guard) or self._upload_refusal(scope)
        if refusal is not None:
            await refusal(scope, receive, guarded)
            return
        body = _Body(receive, guarded, self._guard.upload_limit_bytes)
        try:
            await self._app(scope, body.receive, body.send)
        except _TooLargeError:
            if body.has_answered:
                raise
        except Exception:
            # Caught here and not further out, so that this answer has the strict headers too.
            _log.exception("a request to %s failed", scope["path"])
            if body.has_answered:
                raise
            await _say(500, _("Something went wrong inside Firstpiece; its window says more."))(
                scope, receive, guarded
            )
        if body.is_too_large and not body.has_answered:
            await _too_large(self._guard)(scope, receive, guarded)

    def _upload_refusal(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        if not headers.get("content-type", "").startswith("multipart/"):
            return None
        visitor = headers.get("cookie", "") or str(scope.get("client"))
        if self._pace.is_too_quick(visitor):
            return _say(429, _("Too many files came at once; wait a minute, then go on."))
        disk = self._guard.disk
        if disk is not None and disk.exists():
            wanted = int(headers.get("content-length", "0")) + ROOM_BYTES
            if shutil.disk_usage(disk).free < wanted:
                return _say(507, _("The disk is nearly full; make room, then send it again."))
        return None


class _Body:
    """Counts a body as it comes, since a chunked upload announces no length.

    Over the limit, reading raises and the application's own answer to that is held back.
    """

    def __init__(self, receive: Receive, send: Send, limit_bytes: int) -> None:
        self._receive = receive
        self._send = send
        self._left = limit_bytes
        self.is_too_large = False
        self.has_answered = False

    async def receive(self) -> Message:
        message = await self._receive()
        self._left -= len(message.get("body", b""))
        if self._left < 0:
            self.is_too_large = True
            raise _TooLargeError
        return message

    async def send(self, message: Message) -> None:
        if self.is_too_large and not self.has_answered:
            return
        self.has_answered = True
        await self._send(message)


def _refusal(scope: Scope, guard: Guard) -> Response | None:
    headers = Headers(scope=scope)
    hosts = headers.getlist("host")
    ours = {guard.network_host} if _is_remote(scope) else guard.hosts
    if len(hosts) != 1 or hosts[0].lower() not in ours:
        return _say(421, _("This address is not Firstpiece's; open the link that was printed."))
    if scope["method"] not in ("GET", "HEAD", "POST"):
        return _say(405, _("This way of asking is not offered here."))
    if scope["method"] == "POST":
        if not _is_same_origin(headers, hosts[0]):
            return _say(403, _("Another site tried to change something here; it was refused."))
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > guard.upload_limit_bytes:
            return _too_large(guard)
    return _entry_refusal(scope, headers, guard)


def _entry_refusal(scope: Scope, headers: Headers, guard: Guard) -> Response | None:
    """Return why somebody may not come in: this computer needs its key, a device its own token."""
    path = scope["path"]
    if path.startswith("/static/"):
        return None
    if not _is_remote(scope):
        if path in ("/enter", "/join") or guard.knows(_cookie(headers, guard.cookie_name)):
            return None
        return _say(
            401, _("This page needs its key: run “firstpiece open” and use the link it prints.")
        )
    if guard.devices is None or path == "/enter":
        return _say(403, _("Only the shop’s computer can do this."))
    if path == "/join" or guard.devices.knows(_cookie(headers, guard.device_cookie)):
        return None
    if scope["method"] == "GET":
        return RedirectResponse("/join", 303)
    return _say(401, _("This device was not let in; have a code shown on the shop’s computer."))


def _is_remote(scope: Scope) -> bool:
    """Return whether a request comes from another machine than this."""
    client = scope.get("client")
    try:
        return client is not None and not ipaddress.ip_address(client[0]).is_loopback
    except ValueError:
        # Not a network address at all: a client inside this very process.
        return False


def _is_same_origin(headers: Headers, host: str) -> bool:
    """Return whether a change was asked for by one of our own pages.

    A browser names the Origin of every POST and, since 2021–2023, its relation in Sec-Fetch-Site
    (W3C Fetch Metadata). A caller without an Origin must show our own header, which a page of
    another site cannot add without asking first.
    """
    site = headers.get("sec-fetch-site", "same-origin")
    if site not in ("same-origin", "none"):
        return False
    origin = headers.get("origin")
    if origin is None:
        return headers.get("x-firstpiece") == "1"
    return origin.lower() == f"http://{host.lower()}"


def _cookie(headers: Headers, name: str) -> str:
    try:
        jar = SimpleCookie(headers.get("cookie", ""))
    except CookieError:
        return ""
    return jar[name].value if name in jar else ""


def _with_headers(send: Send) -> Send:
    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
            if "cache-control" not in headers:
                headers["Cache-Control"] = "no-store"
        await send(message)

    return guarded


def _say(status: int, sentence: str) -> Response:
    return PlainTextResponse(sentence + "\n", status_code=status)


def _too_large(guard: Guard) -> Response:
    limit = guard.upload_limit_bytes // 2**20
    return _say(
        413,
        _("The picture is over {limit} MB; save it smaller and choose it again.").format(
            limit=limit
        ),
    )
