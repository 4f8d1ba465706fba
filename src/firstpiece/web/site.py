"""What every handler needs, in one value, and the two checks that forms go through."""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING, Annotated

from fastapi import Depends, Form, HTTPException, Request

from firstpiece.files.material_card import CardDrawer
from firstpiece.web.security import FORM_KEY

if TYPE_CHECKING:
    from pathlib import Path

    from firstpiece.web.job_folder import JobFolder
    from firstpiece.web.live import LiveWork
    from firstpiece.web.render import Renderer
    from firstpiece.web.security import Guard


@dataclass(frozen=True, slots=True)
class Site:
    """The parts of one running server."""

    guard: Guard
    folder: JobFolder
    live: LiveWork
    cards_folder: Path
    render: Renderer

    def cards(self) -> CardDrawer:
        """Return the shop's cards, read now: an edited card file counts at once."""
        return CardDrawer(self.cards_folder)


def get_site(request: Request) -> Site:
    """Return the server's parts."""
    site: Site = request.app.state.site
    return site


SiteParts = Annotated[Site, Depends(get_site)]


def check_form(site: SiteParts, form_key: Annotated[str, Form(alias=FORM_KEY)] = "") -> None:
    """Refuse a form that was not made by a page of this session."""
    if not site.guard.accepts_form(form_key):
        raise HTTPException(403, _("This form is from an earlier session; load the page again."))


OurForm = Depends(check_form)
