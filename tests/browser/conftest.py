"""A real server on a free port and a headless Chromium that watches for what must not happen.

Set-up of the small node tools (an accessibility checker, a type checker) is by ``npm ci`` from the
lock beside this file, once; without npm their tests are skipped, and fail where ``CI`` is set.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import threading
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import pytest
import uvicorn
from playwright.sync_api import BrowserContext, Page, sync_playwright

from firstpiece.running.pool import PoolRunner
from firstpiece.web.app import create_app
from firstpiece.web.security import Guard

HERE = Path(__file__).parent
KEY = "orchard-key"
CHROMIUM = "/usr/bin/chromium"
ARGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def _missing(what: str) -> None:
    if os.environ.get("CI"):
        pytest.fail(f"{what} is missing, and this is where every test must run")
    pytest.skip(f"{what} is missing")


@pytest.fixture(scope="session")
def node_tools() -> Path:
    """Folder of the installed node tools."""
    folder = HERE / "node_modules"
    if not (folder / "axe-core" / "axe.min.js").is_file():
        npm = shutil.which("npm")
        if npm is None:
            _missing("npm")
        subprocess.run([npm, "ci", "--silent"], cwd=HERE, check=True)
    return folder


@dataclass
class Server:
    """A running local page."""

    address: str
    app: object

    @property
    def origin(self) -> str:
        return f"http://{self.address}"

    @property
    def site(self):
        return self.app.state.site


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    """The local page with real worker processes, in a home of its own."""
    home = tmp_path_factory.mktemp("home")
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    address = f"127.0.0.1:{listener.getsockname()[1]}"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FIRSTPIECE_HOME", str(home))
        app = create_app(home=home, guard=Guard(frozenset({address}), KEY), runner=PoolRunner(1))
        running = uvicorn.Server(
            uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=1)
        )
        thread = threading.Thread(target=running.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        yield Server(address, app)
        running.should_exit = True
        thread.join(30)
        listener.close()


@dataclass
class Desk:
    """A browser whose errors and outside requests are written down."""

    context: BrowserContext
    page: Page
    server: Server
    complaints: list[str] = field(default_factory=list)

    def watch(self) -> None:
        self.page.on("pageerror", lambda e: self.complaints.append(f"error: {e}"))
        self.page.on("console", self._heard)
        self.page.on("request", self._asked)

    def _heard(self, message) -> None:
        # The driver talks about speed in warnings; a refused request is logged as an error too.
        if message.type == "error" and "status of 4" not in message.text:
            self.complaints.append(message.text)

    def _asked(self, request) -> None:
        parts = urlsplit(request.url)
        if parts.scheme in ("http", "https", "ws") and parts.netloc != self.server.address:
            self.complaints.append(f"outside: {request.url}")

    def enter(self) -> Page:
        self.page.goto(f"{self.server.origin}/enter?key={KEY}")
        return self.page

    def size(self, width: int, height: int = 900) -> None:
        self.page.set_viewport_size({"width": width, "height": height})


@pytest.fixture(scope="session")
def playwright():
    with sync_playwright() as running:
        yield running


@pytest.fixture
def open_desk(playwright, server, tmp_path):
    """Return a function that opens a browser; all are closed at the end and must have been calm."""
    if not Path(CHROMIUM).exists():
        _missing("chromium")
    desks: list[Desk] = []

    def opened(**options) -> Desk:
        context = playwright.chromium.launch_persistent_context(
            str(tmp_path / f"profile-{len(desks)}"),
            executable_path=CHROMIUM,
            args=ARGS,
            accept_downloads=True,
            **options,
        )
        desk = Desk(context, context.pages[0], server)
        desk.page.set_default_timeout(60_000)
        desk.watch()
        desks.append(desk)
        return desk

    yield opened
    for desk in desks:
        desk.context.close()
    assert [c for d in desks for c in d.complaints] == []


@pytest.fixture
def desk(open_desk):
    return open_desk()
