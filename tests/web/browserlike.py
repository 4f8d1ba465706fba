"""A client of the local page that behaves like a person's browser."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING

with warnings.catch_warnings():
    # The client library it is built on is about to change its name; nothing of ours is meant.
    warnings.simplefilter("ignore")
    from starlette.testclient import TestClient  # noqa: TC002 - others take it from here

if TYPE_CHECKING:
    from pathlib import Path

    from firstpiece.web.site import Site

ADDRESS = "127.0.0.1:8137"
ORIGIN = f"http://{ADDRESS}"
KEY = "orchard-key"
UPLOAD_LIMIT = 2 * 2**20


@dataclass
class Page:
    """A browser-like client, the server's parts and its folder."""

    client: TestClient
    site: Site
    home: Path

    def get(self, path: str, **headers: str):
        return self.client.get(path, headers=headers)

    def post(self, path: str, files=None, **fields: str):
        data = {"form_key": self.site.guard.form_key, **fields}
        return self.client.post(path, data=data, files=files, headers={"origin": ORIGIN})

    def bring(self, data: bytes, name: str = "art.png", **fields: str):
        answer = self.post("/jobs", files={"picture": (name, data)}, **fields)
        self.site.live.wait()
        return answer
