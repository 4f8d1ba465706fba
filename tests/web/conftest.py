"""A local page on an inline runner, with a person who came in by the link."""

from __future__ import annotations

import pytest
from tests.web.browserlike import ADDRESS, KEY, ORIGIN, UPLOAD_LIMIT, Page, TestClient

from firstpiece.running.inline import InlineRunner
from firstpiece.web.app import create_app
from firstpiece.web.security import Guard


@pytest.fixture
def page(tmp_path, monkeypatch):
    monkeypatch.setenv("FIRSTPIECE_HOME", str(tmp_path))
    guard = Guard(frozenset({ADDRESS}), KEY, upload_limit_bytes=UPLOAD_LIMIT)
    app = create_app(home=tmp_path, guard=guard, runner=InlineRunner())
    with TestClient(app, base_url=ORIGIN, follow_redirects=False) as client:
        client.get(f"/enter?key={KEY}")
        yield Page(client, app.state.site, tmp_path)
