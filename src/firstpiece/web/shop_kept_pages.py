"""Everything kept safe from the page: a backup now, the list of backups, tables out and in."""

from __future__ import annotations

from datetime import UTC, datetime
from gettext import gettext as _
from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from firstpiece.errors import FirstpieceError, InputError
from firstpiece.files.shop_tables import CUSTOMERS_FILE, JOBS_FILE, LINES_FILE
from firstpiece.shop import backup_book, job_tables
from firstpiece.web.faults import status_of
from firstpiece.web.job_folder import UnknownJobError
from firstpiece.web.shop_forms import TypedForm  # noqa: TC001 - FastAPI reads it at run time
from firstpiece.web.site import OurForm, SiteParts

if TYPE_CHECKING:
    from firstpiece.shop.job_tables import Imported
    from firstpiece.web.site import Site

router = APIRouter()

TABLES = (CUSTOMERS_FILE, JOBS_FILE, LINES_FILE)


@router.get("/kept")
def show_kept(site: SiteParts) -> Response:
    """Show the backups there are, and the ways in and out."""
    return _page(site)


@router.post("/kept/backup", dependencies=[OurForm])
def back_up(site: SiteParts) -> Response:
    """Write the whole shop into one checked file."""
    try:
        backup_book.back_up()
    except FirstpieceError as fault:
        return _page(site, fault=fault)
    return RedirectResponse("/kept", 303)


@router.get("/kept/tables/{name}")
def table(name: str) -> Response:
    """Return one table of all customers, jobs or lines."""
    found = job_tables.export_tables()
    if name not in found:
        raise UnknownJobError(_("there is no such table"))
    headers = {"Content-Disposition": f"attachment; filename={name}"}
    return Response(found[name].encode(), media_type="text/csv; charset=utf-8", headers=headers)


@router.post("/kept/tables", dependencies=[OurForm])
def take_in(site: SiteParts, typed: TypedForm) -> Response:
    """Add the customers and jobs of tables, all of them or none."""
    try:
        given = {name: chosen[1] for name in TABLES if (chosen := typed.file(name)) is not None}
        if not given:
            raise InputError(_("no table was chosen"), remedy=_("choose one or more files"))
        imported = job_tables.import_tables({n: _text(n, data) for n, data in given.items()})
    except FirstpieceError as fault:
        return _page(site, fault=fault)
    return _page(site, imported=imported)


def _text(name: str, data: bytes) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as fault:
        raise InputError(
            _("the table cannot be read"), where=name, remedy=_("save it as UTF-8 CSV")
        ) from fault


def _page(
    site: Site, *, fault: FirstpieceError | None = None, imported: Imported | None = None
) -> Response:
    backups = [
        (path.name, path.stat().st_size, datetime.fromtimestamp(path.stat().st_mtime, UTC))
        for path in backup_book.list_backups()
    ]
    return site.render.page(
        "shop_kept.html",
        status=status_of(fault) if fault else 200,
        place="/kept",
        fault=str(fault) if fault else "",
        imported=imported,
        backups=backups,
        where=backup_book.store_place(),
        tables=TABLES,
    )
