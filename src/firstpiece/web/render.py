"""Pages from templates: escaped by default, in the person's language, figures with their units."""

from __future__ import annotations

import gettext
import re
from decimal import Decimal
from functools import cache
from importlib.resources import files as package_files
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.responses import HTMLResponse

from firstpiece import __version__
from firstpiece.web.security import FORM_KEY
from firstpiece.web.words import describe_band, with_unit

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from firstpiece.web.job_folder import Object
    from firstpiece.web.security import Guard


class Renderer:
    """The templates of the local page.

    Parameters
    ----------
    guard : Guard
        Gives forms their hidden key.
    """

    def __init__(self, guard: Guard) -> None:
        self._environment = Environment(
            loader=PackageLoader("firstpiece.web"),
            autoescape=True,
            undefined=StrictUndefined,
            extensions=["jinja2.ext.i18n"],
            trim_blocks=True,
            lstrip_blocks=True,
        )
        # The extension adds this method at run time.
        install: Any = self._environment.install_gettext_callables  # type: ignore[attr-defined]
        install(gettext.gettext, gettext.ngettext, newstyle=True)
        self._environment.filters.update(
            money=format_money,
            kept=kept_money,
            count=format_count,
            likely=describe_band,
            unit=with_unit,
        )
        self._environment.globals.update(
            modules_of=modules_of,
            form_key_name=FORM_KEY,
            form_key=guard.form_key,
            version=__version__,
        )

    def add_filters(self, filters: Mapping[str, Callable[..., Any]]) -> None:
        """Let templates word the values of pages that are loaded later."""
        self._environment.filters.update(filters)

    def page(self, template: str, *, status: int = 200, **values: Any) -> HTMLResponse:
        """Return a template filled in."""
        return HTMLResponse(
            self._environment.get_template(template).render(values, status=status), status
        )


@cache
def modules_of(name: str) -> tuple[str, ...]:
    """Return a script and all scripts it asks for, so that a page can fetch them side by side."""
    static = package_files("firstpiece") / "web" / "static"
    found: list[str] = []
    waiting = [name]
    while waiting:
        found.append(waiting.pop())
        asked = re.findall(r'from "\./([\w.]+)";', (static / found[-1]).read_text("utf-8"))
        waiting += [other for other in asked if other not in found and other not in waiting]
    return tuple(found)


def kept_money(quote: Object) -> Object:
    """Return what a price leaves over its cost, before tax."""
    left = Decimal(quote["net"]["amount"]) - Decimal(quote["cost"]["amount"])
    return {"amount": str(left), "currency": quote["net"]["currency"]}


def format_money(money: Object) -> str:
    """Return money as it is written: symbol, decimals of its currency."""
    from babel.numbers import format_currency

    amount = Decimal(money["amount"])
    return str(format_currency(amount, money["currency"], locale="en_GB"))


def format_count(number: float) -> str:
    """Return a count in groups of three, held together (``12 480``)."""
    return f"{number:,.0f}".replace(",", "\u202f")
