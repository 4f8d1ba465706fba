"""What a run made, given out: pictures for the page, the sewing for the thread view, downloads.

Only names that the run's own list holds are served; nothing a person sent is given back as it came.
"""

from __future__ import annotations

import hashlib
from gettext import gettext as _
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from fastapi import APIRouter, Header
from starlette.responses import FileResponse, Response

from firstpiece.web.job_folder import UnknownJobError
from firstpiece.web.run_files import (
    FILES,
    LAYERS,
    LAYERS_TYPE,
    PICTURES,
    SEWING,
    SEWING_TYPE,
    TRAVELLER,
)
from firstpiece.web.site import SiteParts  # noqa: TC001 - FastAPI reads it at run time

if TYPE_CHECKING:
    from pathlib import Path

    from firstpiece.web.site import Site

router = APIRouter()

_TYPES = {
    ".png": "image/png",
    ".jpg": "image/jpeg",
    ".svg": "image/svg+xml",
    ".pdf": "application/pdf",
    ".csv": "text/csv; charset=utf-8",
    ".json": "application/json",
    ".txt": "text/plain; charset=utf-8",
}


@router.get("/jobs/{job_id}/{run_id}/sewing")
def sewing(
    site: SiteParts, job_id: str, run_id: str, if_none_match: str = Header(default="")
) -> Response:
    """Return the stitches packed for the thread view."""
    return _packed(site.folder.path(job_id, run_id) / SEWING, SEWING_TYPE, if_none_match)


@router.get("/jobs/{job_id}/{run_id}/layers")
def layers(
    site: SiteParts, job_id: str, run_id: str, if_none_match: str = Header(default="")
) -> Response:
    """Return the forecast's maps packed for the thread view."""
    return _packed(site.folder.path(job_id, run_id) / LAYERS, LAYERS_TYPE, if_none_match)


@router.get("/jobs/{job_id}/{run_id}/pictures/{name}")
def picture(site: SiteParts, job_id: str, run_id: str, name: str) -> Response:
    """Return one of the pictures the traveller shows."""
    folder = site.folder.path(job_id, run_id)
    found = [p for p in (folder / name, folder / FILES / name) if p.is_file()]
    if name not in PICTURES or not found:
        raise UnknownJobError(_("there is no such picture"))
    return FileResponse(found[0], media_type=_TYPES[found[0].suffix])


@router.get("/jobs/{job_id}/{run_id}/files/{name}")
def download(site: SiteParts, job_id: str, run_id: str, name: str) -> Response:
    """Return one of the files, to be saved."""
    listed = {f["name"] for f in _listed(site, job_id, run_id)["files"]}
    path = site.folder.path(job_id, run_id) / FILES / name
    if name not in listed or not path.is_file():
        raise UnknownJobError(_("there is no such file"))
    kind = _TYPES.get(path.suffix, "application/octet-stream")
    disposition = f"attachment; filename*=UTF-8''{quote(name)}"
    return FileResponse(path, media_type=kind, headers={"Content-Disposition": disposition})


def _packed(path: Path, kind: str, if_none_match: str) -> Response:
    """Return a gzipped file, or word that the browser's own copy still holds."""
    if not path.is_file():
        raise UnknownJobError(_("this job has no sewing yet"))
    tag = f'"{hashlib.sha256(path.read_bytes()).hexdigest()[:16]}"'
    headers = {"ETag": tag, "Cache-Control": "private, no-cache", "Content-Encoding": "gzip"}
    if if_none_match == tag:
        return Response(status_code=304, headers={"ETag": tag})
    return FileResponse(path, media_type=kind, headers=headers)


def _listed(site: Site, job_id: str, run_id: str) -> dict[str, Any]:
    result = site.folder.read(job_id, run_id, TRAVELLER)
    if result is None:
        raise UnknownJobError(_("this job is not done yet"))
    return result
