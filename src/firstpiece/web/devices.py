"""Tablets and phones that may read the page too: let in by a code, put out by name.

A code is shown once, holds ten minutes and lets in one device; a few wrong tries end it. A device
then carries a token of its own, of which only the hash is written down.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
import time
from collections import deque
from dataclasses import asdict, dataclass
from gettext import gettext as _
from threading import Lock
from typing import TYPE_CHECKING

from firstpiece.errors import BusyError, InputError
from firstpiece.files.safe_write import write_together

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

# Without letters and figures that are taken for one another when read aloud or off a screen.
ALPHABET = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
CODE_LENGTH = 8
CODE_S = 600.0
MOST_WRONG = 5
MOST_TRIES, TRIES_S = 20, 60.0
STAYS_S = 30 * 86_400.0
MOST_DEVICES = 20
FILE = "devices.json"


class CodeError(InputError):
    """A code that lets nobody in: wrong, used, or too old."""


@dataclass(frozen=True, slots=True)
class Code:
    """A pairing code and until when it holds [s since the epoch]."""

    text: str
    until_s: float

    @property
    def spoken(self) -> str:
        """The code in two groups, as it is read aloud."""
        half = CODE_LENGTH // 2
        return f"{self.text[:half]} {self.text[half:]}"


@dataclass(frozen=True, slots=True)
class Device:
    """A device that was let in; ``token_hash`` is SHA-256 of what its cookie holds."""

    id: str
    name: str
    token_hash: str
    since_s: float


class DeviceBook:
    """The devices that may come in, and the one code that may be open.

    Parameters
    ----------
    home : pathlib.Path
        Where ``devices.json`` is kept.
    clock : callable
        Seconds since the epoch.
    """

    def __init__(self, home: Path, clock: Callable[[], float] = time.time) -> None:
        self._home = home
        self._clock = clock
        self._lock = Lock()
        self._code: Code | None = None
        self._n_wrong = 0
        self._tries: deque[float] = deque()
        self._devices = _read(home / FILE)

    def open_code(self) -> Code:
        """Return a new code; the one before no longer holds."""
        text = "".join(secrets.choice(ALPHABET) for _ in range(CODE_LENGTH))
        with self._lock:
            self._n_wrong = 0
            self._code = Code(text, self._clock() + CODE_S)
            return self._code

    def code(self) -> Code | None:
        """Return the code that holds now, if any."""
        with self._lock:
            if self._code and self._clock() >= self._code.until_s:
                self._code = None
            return self._code

    def admit(self, typed: str, *, name: str) -> str:
        """Use the code up and return the new device's token.

        Raises
        ------
        BusyError
            When codes are tried faster than a hand can type them.
        CodeError
            When the code lets nobody in.
        """
        self._slow_down()
        code = self.code()
        with self._lock:
            if code is None or code is not self._code:
                raise _no_entry()
            if not hmac.compare_digest(_plain(typed).encode(), code.text.encode()):
                self._n_wrong += 1
                if self._n_wrong >= MOST_WRONG:
                    self._code = None
                raise _no_entry()
            self._code = None
            token = secrets.token_urlsafe(32)
            label = "".join(c for c in name if c.isprintable()).strip()[:40] or _("device")
            device = Device(secrets.token_hex(4), label, _hash(token), self._clock())
            self._keep((*self._devices, device)[-MOST_DEVICES:])
            return token

    def knows(self, token: str) -> bool:
        """Return whether a token is that of a device that may come in."""
        held = _hash(token)
        now = self._clock()
        return bool(token) and any(
            hmac.compare_digest(held, d.token_hash) and now - d.since_s < STAYS_S
            for d in self._devices
        )

    def devices(self) -> tuple[Device, ...]:
        """Return the devices that may come in, the newest first."""
        now = self._clock()
        return tuple(d for d in reversed(self._devices) if now - d.since_s < STAYS_S)

    def put_out(self, device_id: str) -> None:
        """Take a device's right to come in; unknown ones are none."""
        with self._lock:
            self._keep(tuple(d for d in self._devices if d.id != device_id))

    def _slow_down(self) -> None:
        now = self._clock()
        with self._lock:
            while self._tries and now - self._tries[0] > TRIES_S:
                self._tries.popleft()
            if len(self._tries) >= MOST_TRIES:
                raise BusyError(
                    _("too many codes were tried"), remedy=_("wait a minute, then try again")
                )
            self._tries.append(now)

    def _keep(self, devices: tuple[Device, ...]) -> None:
        self._devices = devices
        text = json.dumps([asdict(d) for d in devices], ensure_ascii=False, indent=1)
        write_together(self._home, {FILE: text.encode()})


def _read(path: Path) -> tuple[Device, ...]:
    try:
        return tuple(Device(**entry) for entry in json.loads(path.read_text("utf-8")))
    except FileNotFoundError:
        return ()
    except (OSError, ValueError, TypeError):
        # A harmed list lets nobody in; devices are simply let in again.
        return ()


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _plain(typed: str) -> str:
    return "".join(c for c in typed.upper() if c.isalnum())


def _no_entry() -> CodeError:
    return CodeError(
        _("this code lets nobody in"),
        remedy=_("have a new one shown on the shop’s computer; each lets in one device"),
    )
