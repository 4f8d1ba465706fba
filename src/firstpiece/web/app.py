"""The local page: the application with its guard, and the server that ``firstpiece open`` starts.

Input: the shop's home folder and a port. Output: pages on this computer's own address only, opened
by a link that carries the session's key.
"""

from __future__ import annotations

import logging
import secrets
import socket
import sys
import webbrowser
from contextlib import asynccontextmanager, closing, suppress
from gettext import gettext as _
from importlib.resources import files as package_files
from typing import TYPE_CHECKING

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles

from firstpiece import __version__
from firstpiece.web import (
    faults,
    job_pages,
    live_pages,
    result_files,
)
from firstpiece.web.job_folder import JobFolder
from firstpiece.web.late_pages import add_late_pages
from firstpiece.web.live import LiveWork
from firstpiece.web.render import Renderer
from firstpiece.web.security import Guard, GuardMiddleware
from firstpiece.web.site import Site

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

    from firstpiece.running.runner import Runner

PREFERRED_PORT = 8137
HOST = "127.0.0.1"

PAGES = (job_pages, live_pages, result_files)


def create_app(*, home: Path, guard: Guard, runner: Runner) -> FastAPI:
    """Return the application.

    Parameters
    ----------
    home : pathlib.Path
        The shop's folder; jobs are kept in ``web-jobs`` under it, own cards in ``cards``.
    guard : Guard
    runner : Runner
        Does the work; closed when the application ends.
    """
    folder = JobFolder(home / "web-jobs")
    folder.interrupt_all()
    live = LiveWork(runner, folder, home / "cards")

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        yield
        live.close()

    app = FastAPI(
        title="Firstpiece",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        lifespan=lifespan,
    )
    app.state.site = Site(
        guard=guard, folder=folder, live=live, cards_folder=home / "cards", render=Renderer(guard)
    )
    static = str(package_files("firstpiece") / "web" / "static")
    app.mount("/static", StaticFiles(directory=static), name="static")
    for pages in PAGES:
        app.include_router(pages.router)
    add_late_pages(app)
    faults.tell_faults(app)
    app.add_middleware(GuardMiddleware, guard=guard)
    return app


def serve(*, port: int = 0, open_browser: bool = True, home: Path) -> None:
    """Serve the local page until it is interrupted.

    Parameters
    ----------
    port : int
        0 takes 8137, or any free port when that one is in use.
    open_browser : bool
        Open the page in the person's browser.
    home : pathlib.Path
        The shop's folder.
    """
    import uvicorn

    from firstpiece.running.pool import PoolRunner

    listener = _listen(port)
    address = f"{HOST}:{listener.getsockname()[1]}"
    key = secrets.token_urlsafe(32)
    hosts = frozenset({address, address.replace(HOST, "localhost")})
    app = create_app(home=home, guard=Guard(hosts, key), runner=PoolRunner())
    link = f"http://{address}/enter?key={key}"
    sys.stderr.write(_("Firstpiece is open at {link}").format(link=link) + "\n")
    sys.stderr.write(_("Press Ctrl+C to close it.") + "\n")
    if open_browser:
        webbrowser.open(link)
    logging.getLogger("uvicorn.error").setLevel(logging.WARNING)
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=1,
    )
    # Ctrl+C is the ordinary way to close it; everything has been let go when it gets here.
    with closing(listener), suppress(KeyboardInterrupt):
        uvicorn.Server(config).run(sockets=[listener])


def _listen(port: int) -> socket.socket:
    """Return a listening socket on this computer's own address."""
    from firstpiece.errors import BusyError

    for wanted in (port,) if port else (PREFERRED_PORT, 0):
        listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((HOST, wanted))
            # At once, so that a browser quicker than the server waits and is not turned away.
            listener.listen()
        except OSError:
            listener.close()
        else:
            return listener
    raise BusyError(
        _("port {port} is in use").format(port=port),
        remedy=_("leave out --port for a free one"),
    )
