"""Every address of the page under generated input: nothing breaks, nothing is half guarded.

Source: the application's own OpenAPI 3.1 description (OAS, sections 4.8 to 4.10), from which
schemathesis draws requests within and outside it; forms are described by the templates' own fields.
Checked on every answer: no server error, an answer a person can read, the strict headers, and no
word of the program's inside.
"""

from __future__ import annotations

import json
import re
from importlib.resources import files as package_files

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from starlette.routing import Mount
from tests.web.browserlike import ADDRESS, KEY
from tests.web.pictures import pear_png

from firstpiece.running.inline import InlineRunner
from firstpiece.shop import job_book, job_intake
from firstpiece.web import live
from firstpiece.web.app import create_app
from firstpiece.web.devices import DeviceBook
from firstpiece.web.job_folder import Asked
from firstpiece.web.security import HEADERS, Guard

pytestmark = pytest.mark.slow

ALLOWED = {200, 303, 304, 400, 401, 403, 404, 405, 409, 413, 421, 422, 429}
EXAMPLES = 4
INSIDE = re.compile(rb"Traceback|File \"|sqlalchemy|site-packages|firstpiece\.[a-z_]+\.")


def _form_fields() -> list[str]:
    """Return the names of all fields in the templates' forms."""
    folder = package_files("firstpiece") / "web" / "templates"
    texts = [f.read_text("utf-8") for f in folder.iterdir() if f.name.endswith(".html")]
    names = {
        n
        for t in texts
        for n in re.findall(r'<(?:input|select|textarea|button)[^>]*\bname="(\w+)"', t)
    }
    assert len(names) > 30
    return sorted(names)


def _described(app) -> dict:
    """Return the application's description, with forms that handlers read by themselves added."""
    description = json.loads(json.dumps(app.openapi()))
    properties = {name: {"type": "string", "maxLength": 60} for name in _form_fields()}
    content = {
        "application/x-www-form-urlencoded": {
            "schema": {"type": "object", "properties": properties}
        }
    }
    for operations in description["paths"].values():
        if "post" in operations:
            operations["post"].setdefault("requestBody", {"content": content})
    return description


@pytest.fixture(scope="module")
def web_api(tmp_path_factory):
    """The description of an application that has a job in its folder and one in its store."""
    home = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FIRSTPIECE_HOME", str(home))
        quick = dict.fromkeys(live.TASKS, _nothing)
        patch.setattr(live, "TASKS", quick)
        guard = Guard(
            frozenset({ADDRESS}), KEY, devices=DeviceBook(home), network_host="10.0.0.1:1"
        )
        app = create_app(home=home, guard=guard, runner=InlineRunner())
        (late,) = [r for r in app.router.routes if type(r) is Mount and r.path == ""]
        late.app.load()
        asked = Asked(height_mm=40.0, height_text="40 mm", garment="tee-white")
        job = app.state.site.folder.take(pear_png(), label="pear.png", asked=asked)
        opened = job_intake.open_with_pictures([("pear.png", pear_png())], title="Shirts")
        known = {"job_id": job.id, "run_id": job.run_id, "number": opened.id, "name": "picture"}
        schema = schemathesis.openapi.from_dict(_described(app))
        schema.app = app
        schema.config.update(base_url=f"http://{ADDRESS}")
        yield schema, known, guard
        app.state.site.live.wait()
        app.state.site.live.close()


def _nothing(_context, _request):
    """Do no work: here only the pages are tried."""


def test_the_store_has_what_the_addresses_name(web_api):
    _schema, known, _guard = web_api
    assert job_book.read_job(known["number"]).title == "Shirts"


def test_no_request_breaks_it(web_api):
    schema, known, guard = web_api
    n_operations, broken = 0, []
    for result in schema.get_all_operations():
        operation = result.ok()
        n_operations += 1

        @settings(
            max_examples=EXAMPLES, deadline=None, derandomize=True, phases=[Phase.generate],
            suppress_health_check=list(HealthCheck), database=None,
        )  # fmt: skip
        @given(case=operation.as_strategy(), is_known=st.booleans())
        def answered(case, is_known):
            _try(case, known if is_known else {}, guard)

        try:
            answered()
        except AssertionError as fault:
            broken.append(str(fault))
    assert broken == []
    assert n_operations > 50


def _try(case, known: dict, guard: Guard) -> None:
    """Send a request with the person's own cookie and form key; ``known`` names what is there."""
    case.path_parameters.update({n: known[n] for n in case.path_parameters if n in known})
    if isinstance(case.body, dict):
        case.body["form_key"] = guard.form_key
    headers = {
        "Host": ADDRESS,
        "Origin": f"http://{ADDRESS}",
        "Cookie": f"{guard.cookie_name}={KEY}",
    }
    answer = case.call(headers=headers, allow_redirects=False)
    told = f"{case.method} {case.formatted_path}: {answer.status_code} {answer.text_lossy()[:300]}"
    assert answer.status_code in ALLOWED, told
    for name, value in HEADERS.items():
        assert answer.headers[name.lower()] == [value], told
    assert not INSIDE.search(answer.content), told
