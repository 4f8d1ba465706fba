"""Scripts, styles and fonts given out from memory: small files that every page asks for.

Input: the package's own folder. Output: an ASGI application; nothing outside the folder has a name.
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.responses import Response

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

    from starlette.types import Receive, Scope, Send

TYPES = {
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".woff2": "font/woff2",
}


class StaticFilesInMemory:
    """The files of one folder by name.

    Parameters
    ----------
    folder : importlib.resources.abc.Traversable
        Read once; folders in it are left out.
    """

    def __init__(self, folder: Traversable) -> None:
        self._files: dict[str, tuple[bytes, dict[str, str]]] = {}
        for found in folder.iterdir():
            kind = TYPES.get("." + found.name.rpartition(".")[2])
            if kind is not None:
                data = found.read_bytes()
                tag = f'"{hashlib.sha256(data).hexdigest()[:16]}"'
                # Asked again every time, so that a newer Firstpiece never runs an older script.
                headers = {"Content-Type": kind, "ETag": tag, "Cache-Control": "no-cache"}
                self._files[found.name] = (data, headers)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer with the file whose name ends the path."""
        name = str(scope["path"]).rpartition("/static/")[2]
        if scope["method"] not in ("GET", "HEAD") or name not in self._files:
            raise HTTPException(404)
        data, headers = self._files[name]
        is_known = Headers(scope=scope).get("if-none-match") == headers["ETag"]
        answer = Response(status_code=304) if is_known else Response(data)
        answer.headers.update(headers)
        await answer(scope, receive, send)
