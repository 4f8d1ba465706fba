"""The drafts behind a job's designs: what was tried with its pictures, and which became what.

Input: a job of the store. Output: its tries with their addresses, and what a form asks to be tried.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.files.placement_table import read_placements
from firstpiece.store.home import cards_folder
from firstpiece.units import format_length
from firstpiece.web.asking import read_height_mm
from firstpiece.web.job_folder import Asked
from firstpiece.web.run_files import REVISION, THUMB
from firstpiece.web.work import PREPARE

if TYPE_CHECKING:
    from firstpiece.files.material_card import CardDrawer
    from firstpiece.model.design import Revision
    from firstpiece.model.job import Job
    from firstpiece.web.shop_forms import Typed
    from firstpiece.web.site import Site


@dataclass(frozen=True, slots=True)
class Try:
    """One way a picture of the job was tried.

    ``address`` is its page; ``thumb`` the address of a small picture, empty while there is none.
    """

    draft: str
    run: str
    plan_id: str
    words: str
    status: str
    thumb: str

    @property
    def address(self) -> str:
        """The page that shows it."""
        return f"/jobs/{self.draft}/{self.run}"


def list_tries(site: Site, job: Job) -> tuple[Try, ...]:
    """Return how a job's pictures were tried, the newest picture's last try first."""
    found = []
    for picture in reversed(job.pictures):
        draft = site.folder.draft_of(job.id, picture.hash)
        runs = reversed(draft.runs) if draft else ()
        found += [_try(site, draft.id, run_id) for run_id in runs if draft]
    return tuple(found)


def tries_by_plan(tries: tuple[Try, ...]) -> dict[str, Try]:
    """Return the newest finished try of each plan."""
    return {one.plan_id: one for one in reversed(tries) if one.plan_id}


def list_places() -> tuple[str, ...]:
    """Return the names of all places of the placement table."""
    places = read_placements(cards_folder()).placements
    return tuple(dict.fromkeys(place.label for place in places))


def read_asked_design(typed: Typed, job: Job, cards: CardDrawer) -> Asked:
    """Return what a form asks to be tried: empty places are as in the newest design.

    Raises
    ------
    InputError, CardError
    """
    before = job.revision
    text = typed.needed("height", _("the height"))
    garment = typed.text("garment") or (before.garment if before else "")
    garment = garment or (job.lines[0].garment if job.lines else cards.default_garment)
    thread = before.thread if before and before.garment == garment else ""
    cards.setup(garment, thread=thread)
    return Asked(
        height_mm=read_height_mm(text),
        height_text=text if not text.replace(".", "").isdecimal() else f"{text} mm",
        garment=garment,
        thread=thread,
        quantity=max(1, job.n_pieces),
        n_colors=before.options.n_colors if before else None,
    )


def asked_of(revision: Revision) -> Asked:
    """Return what draws a revision as it was kept."""
    return Asked(
        height_mm=revision.height_mm,
        height_text=format_length(revision.height_mm),
        garment=revision.garment,
        thread=revision.thread,
        quantity=revision.quantity,
        n_colors=revision.options.n_colors,
        revision=revision.number,
    )


def read_try(typed: Typed) -> tuple[str, str]:
    """Return draft and run that a form names.

    Raises
    ------
    InputError
    """
    draft, dash, run = typed.text("draft").partition("-")
    if not dash:
        raise InputError(_("no design was picked"), remedy=_("load the page again"))
    return draft, run


def _try(site: Site, draft: str, run_id: str) -> Try:
    asked = site.folder.asked(draft, run_id)
    cards = site.cards()
    known = asked.garment in cards.names("garments")
    garment = cards.garment(asked.garment).label if known else asked.garment
    figures = site.folder.read(draft, run_id, REVISION)
    has_thumb = (site.folder.path(draft, run_id) / THUMB).is_file()
    return Try(
        draft=draft,
        run=run_id,
        plan_id=str(figures["plan_id"]) if figures else "",
        words=_("{height} high, {garment}").format(height=asked.height_text, garment=garment),
        status=str(site.live.state(draft, run_id, PREPARE)["status"]),
        thumb=f"/jobs/{draft}/{run_id}/pictures/{THUMB}" if has_thumb else "",
    )
