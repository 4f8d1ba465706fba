"""How far a run is: a stream of server-sent events, or one answer at a time."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Header
from starlette.responses import StreamingResponse

from firstpiece.web.site import SiteParts  # noqa: TC001 - FastAPI reads it at run time
from firstpiece.web.work import PREPARE

router = APIRouter()


@router.get("/jobs/{job_id}/{run_id}/state")
def state(site: SiteParts, job_id: str, run_id: str, of: str = PREPARE) -> dict[str, Any]:
    """Return the state of a task of a run."""
    site.folder.asked(job_id, run_id)
    return site.live.state(job_id, run_id, of)


@router.get("/jobs/{job_id}/{run_id}/events")
async def events(
    site: SiteParts,
    job_id: str,
    run_id: str,
    of: str = PREPARE,
    last_event_id: Annotated[str, Header()] = "",
) -> StreamingResponse:
    """Stream the state of a task until it has ended."""
    site.folder.asked(job_id, run_id)
    # Asked here once, so that what cannot be followed is told before the stream has begun.
    site.live.state(job_id, run_id, of)
    last_id = int(last_event_id) if last_event_id.isdecimal() else 0
    stream = site.live.stream(job_id, run_id, of, last_id=last_id)
    return StreamingResponse(stream, media_type="text/event-stream")
