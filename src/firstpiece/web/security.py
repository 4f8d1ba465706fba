"""The guard in front of every request to the local page.

Input: an ASGI application and a ``Guard``. Output: an application that answers only our own host
name, only the person who holds the session's key, takes changes only from our own pages, stops
uploads over the limit while they stream in, and sends the same strict headers with every answer.
"""

from __future__ import annotations

import hashlib
import hmac
import logging
from dataclasses import dataclass, field
from gettext import gettext as _
from http.cookies import CookieError, SimpleCookie
from typing import TYPE_CHECKING

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, Response

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

_log = logging.getLogger(__name__)

UPLOAD_LIMIT_BYTES = 40 * 2**20
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
        The session's secret, carried by the opened link once and by a cookie afterwards.
    upload_limit_bytes : int
    """

    hosts: frozenset[str]
    key: str = field(repr=False)
    upload_limit_bytes: int = UPLOAD_LIMIT_BYTES

    @property
    def cookie_name(self) -> str:
        """Cookies are shared by all ports of a host, so the name carries ours."""
        port = sorted(self.hosts)[0].rpartition(":")[2]
        return f"firstpiece-{port}"

    @property
    def form_key(self) -> str:
        """The value every form carries in a hidden field, derived from the session's key."""
        return hmac.new(self.key.encode(), b"form", hashlib.sha256).hexdigest()

    def knows(self, key: str) -> bool:
        """Return whether this is the session's key, in constant time."""
        return hmac.compare_digest(key.encode(), self.key.encode())

    def accepts_form(self, form_key: str) -> bool:
        """Return whether a form's hidden field is the one we gave out."""
        return hmac.compare_digest(form_key.encode(), self.form_key.encode())


class _TooLargeError(Exception):
    """Raised inside ``receive`` when a body grows over the limit."""


class GuardMiddleware:
    """Wraps an application with the checks of a ``Guard``."""

    def __init__(self, app: ASGIApp, guard: Guard) -> None:
        self._app = app
        self._guard = guard

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
        refusal = _refusal(scope, self._guard)
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
    if len(hosts) != 1 or hosts[0].lower() not in guard.hosts:
        return _say(421, _("This address is not Firstpiece's; open the link that was printed."))
    if scope["method"] not in ("GET", "HEAD", "POST"):
        return _say(405, _("This way of asking is not offered here."))
    if scope["method"] == "POST":
        if not _is_same_origin(headers, hosts[0]):
            return _say(403, _("Another site tried to change something here; it was refused."))
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > guard.upload_limit_bytes:
            return _too_large(guard)
    if not _is_open(scope["path"]) and not guard.knows(_cookie(headers, guard.cookie_name)):
        return _say(
            401, _("This page needs its key: run “firstpiece open” and use the link it prints.")
        )
    return None


def _is_open(path: str) -> bool:
    return path == "/enter" or path.startswith("/static/")


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
