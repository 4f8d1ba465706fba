"""A local page on an inline runner, with a person who came in by the link."""

from __future__ import annotations

from contextlib import contextmanager

import pytest
from tests.web.browserlike import ADDRESS, KEY, ORIGIN, UPLOAD_LIMIT, Page, TestClient

from firstpiece.running.inline import InlineRunner
from firstpiece.web import live
from firstpiece.web.app import create_app
from firstpiece.web.security import Guard


@contextmanager
def _opened(home):
    guard = Guard(frozenset({ADDRESS}), KEY, upload_limit_bytes=UPLOAD_LIMIT)
    app = create_app(home=home, guard=guard, runner=InlineRunner())
    with TestClient(app, base_url=ORIGIN, follow_redirects=False) as client:
        client.get(f"/enter?key={KEY}")
        yield Page(client, app.state.site, home)


@pytest.fixture(scope="module")
def no_price_tables():
    """Leave out the price table that follows every design: it plans three more heights."""
    tasks = {**live.TASKS, "prices": lambda _context, _request: None}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(live, "TASKS", tasks)
        yield


@pytest.fixture
def page(tmp_path, monkeypatch):
    monkeypatch.setenv("FIRSTPIECE_HOME", str(tmp_path))
    with _opened(tmp_path) as page:
        yield page


@pytest.fixture(scope="module")
def shared_page(tmp_path_factory):
    """One page for a whole file of tests: the chain takes seconds."""
    home = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FIRSTPIECE_HOME", str(home))
        with _opened(home) as page:
            yield page
