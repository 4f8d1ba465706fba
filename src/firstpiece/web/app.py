"""The local page: the application with its guard, and the server that ``firstpiece open`` starts.

Input: the shop's home folder and a port. Output: pages on this computer's own address, opened by a
link that carries the session's key; in the shop's network only when that was asked for.
"""

from __future__ import annotations

import logging
import secrets
import sys
import webbrowser
from contextlib import ExitStack, asynccontextmanager, closing, suppress
from gettext import gettext as _
from importlib.resources import files as package_files
from typing import TYPE_CHECKING

from fastapi import FastAPI

from firstpiece import __version__
from firstpiece.web import (
    device_pages,
    faults,
    job_pages,
    live_pages,
    result_files,
)
from firstpiece.web.devices import DeviceBook
from firstpiece.web.job_folder import JobFolder
from firstpiece.web.keeping import keep_prepared
from firstpiece.web.late_pages import add_late_pages
from firstpiece.web.listening import HOST, listen_here, listen_in_network
from firstpiece.web.live import LiveWork
from firstpiece.web.render import Renderer
from firstpiece.web.security import Guard, GuardMiddleware
from firstpiece.web.site import Site
from firstpiece.web.static_files import StaticFilesInMemory

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

    from firstpiece.running.runner import Runner

PAGES = (job_pages, live_pages, result_files, device_pages)


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
    live = LiveWork(runner, folder, home / "cards", keep_prepared(folder))

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
    static = package_files("firstpiece") / "web" / "static"
    app.mount("/static", StaticFilesInMemory(static), name="static")
    for pages in PAGES:
        app.include_router(pages.router)
    add_late_pages(app)
    faults.tell_faults(app)
    app.add_middleware(GuardMiddleware, guard=guard)
    return app


def serve(
    *, port: int = 0, open_browser: bool = True, with_devices: bool = False, home: Path
) -> None:
    """Serve the local page until it is interrupted.

    Parameters
    ----------
    port : int
        0 takes 8137, or any free port when that one is in use.
    open_browser : bool
        Open the page in the person's browser.
    with_devices : bool
        Listen in the shop's network too, for devices that are let in.
    home : pathlib.Path
        The shop's folder.
    """
    import uvicorn

    from firstpiece.running.pool import PoolRunner

    listener = listen_here(port)
    own_port = int(listener.getsockname()[1])
    address = f"{HOST}:{own_port}"
    listeners = [listener]
    hosts = {address, f"localhost:{own_port}"}
    network_host = ""
    if with_devices:
        listeners.append(listen_in_network(own_port))
        network_host = f"{listeners[1].getsockname()[0]}:{own_port}"
        hosts.add(network_host)
    guard = Guard(
        frozenset(hosts),
        secrets.token_urlsafe(32),
        devices=DeviceBook(home) if with_devices else None,
        network_host=network_host,
        disk=home,
    )
    app = create_app(home=home, guard=guard, runner=PoolRunner())
    link = f"http://{address}/enter?key={guard.key}"
    _tell(link, network_host)
    if open_browser:
        webbrowser.open(link)
    logging.getLogger("uvicorn.error").setLevel(logging.WARNING)
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        # Nobody in front of us speaks for a visitor: what the socket says is where he is.
        proxy_headers=False,
        timeout_graceful_shutdown=1,
    )
    # Ctrl+C is the ordinary way to close it; everything has been let go when it gets here.
    with ExitStack() as stack, suppress(KeyboardInterrupt):
        for each in listeners:
            stack.enter_context(closing(each))
        uvicorn.Server(config).run(sockets=listeners)


def _tell(link: str, network_host: str) -> None:
    lines = [_("Firstpiece is open at {link}").format(link=link)]
    if network_host:
        lines.append(
            _("Devices come in at http://{host}/join, once you show them a code under “Devices”.")
            .format(host=network_host)
        )  # fmt: skip
        lines.append(_("That way is not encrypted: use it in the shop's own network only."))
    lines.append(_("Press Ctrl+C to close it."))
    sys.stderr.write("\n".join(lines) + "\n")
