"""Pages whose modules take long to import: taken in after the first page, not before it.

The shop's pages know the whole chain, which takes about a second to import. They are loaded by the
first request that none of the quick pages takes; that one request waits for it.
"""

from __future__ import annotations

from threading import Lock
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.routing import Mount

if TYPE_CHECKING:
    from fastapi import FastAPI
    from starlette.types import Receive, Scope, Send


def add_late_pages(app: FastAPI) -> None:
    """Have the first request that no page of the application takes load the late pages.

    Parameters
    ----------
    app : FastAPI
        The application, its quick pages already in.
    """
    late = _LatePages(app)
    app.router.routes.append(late.route)


class _LatePages:
    """The last route of the application until the late pages take its place.

    Parameters
    ----------
    app : FastAPI
        The application, its quick pages already in.
    """

    def __init__(self, app: FastAPI) -> None:
        self._app = app
        self._lock = Lock()
        self.route = Mount("", app=self)

    def load(self) -> None:
        """Import the pages and put them in; a second call does nothing."""
        with self._lock:
            if self.route not in self._app.router.routes:
                return
            from firstpiece.web import late

            self._app.state.site.render.add_filters(late.FILTERS)
            for pages in late.PAGES:
                self._app.include_router(pages.router)
            # Last, so that no request falls between the two states.
            self._app.router.routes.remove(self.route)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Load the pages, then let the application's routes decide."""
        await run_in_threadpool(self.load)
        await self._app.router(scope, receive, send)
