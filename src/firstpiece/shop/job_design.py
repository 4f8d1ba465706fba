"""A job's design: pictures as they arrive, revisions planned and kept, colourways, differences."""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import JobError
from firstpiece.files.picture import read_artwork
from firstpiece.files.picture_strip import strip_picture
from firstpiece.model import job_rules as rules
from firstpiece.model.design import ReceivedPicture, Revision, RevisionChange, compare_revisions
from firstpiece.model.edit import SwapThread
from firstpiece.model.order import Colorway
from firstpiece.model.order_question import Wishes, wishes_for
from firstpiece.pricing.compare import QuoteChange, compare_quotes, say_change
from firstpiece.shop.book import now, open_book
from firstpiece.shop.compare import compare_revisions as compare_prepared
from firstpiece.shop.job_book import act, read_job
from firstpiece.shop.prepare import PrepareRequest, prepare
from firstpiece.shop.request_edits import with_edit
from firstpiece.store.pictures import picture_hash

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.job import Job
    from firstpiece.shop.compare import AreaChange
    from firstpiece.shop.prepare import Prepared, Report


@dataclass(frozen=True, slots=True, eq=False)
class Revised:
    """A job with its new revision, and all that was worked out for it."""

    job: Job
    prepared: Prepared


def receive_picture(number: int, data: bytes, *, name: str, expected: int | None = None) -> Job:
    """Keep a picture with a job, without the place and person its file tells of.

    Raises
    ------
    PictureError
        When it cannot be read.
    JobError, StaleError
    """
    read_artwork(data, name=name)
    kept = strip_picture(data, name=name)
    read_job(number)
    picture = ReceivedPicture(open_book().pictures.put(kept), name, len(kept), now())
    return act(number, lambda job: rules.receive_picture(job, picture), expected=expected)


def picture_data(key: str) -> bytes:
    """Return a kept picture's bytes.

    Raises
    ------
    StoreError
        When they are missing or damaged.
    """
    return open_book().pictures.get(key)


def revise_job(
    number: int,
    request: PrepareRequest,
    *,
    reason: str = "",
    expected: int | None = None,
    report: Report | None = None,
) -> Revised:
    """Plan a picture for a job and keep it as the job's new revision.

    Parameters
    ----------
    number : int
    request : PrepareRequest
        Without data the job's last picture is taken; without a garment that of the last revision,
        else of the first line; its quantity is that of the order.
    reason : str
        Why the design changes.
    expected : int or None
        The version the person saw.
    report : callable or None
        ``report(fraction, words)``; may raise to stop.

    Raises
    ------
    PictureError, LengthError, CardError, JobError, StaleError
    """
    job = read_job(number)
    request = _completed(job, request)
    prepared = prepare(request, report=report)
    picture = ReceivedPicture(
        open_book().pictures.put(request.data), request.name, len(request.data), now()
    )
    revision = revision_of(request, prepared, picture.hash, reason=reason)

    def decide(current: Job) -> rules.Drafts:
        return (*rules.receive_picture(current, picture), *rules.revise(current, revision))

    # The plan was made for what was read above, so that is what must still be true.
    return Revised(act(number, decide, expected=expected or job.version), prepared)


def prepare_revision(job: Job, *, quantity: int | None = None, number: int = 0) -> Prepared:
    """Return a revision worked out again (the newest, unless ``number`` names another)."""
    return prepare(revision_request(job, quantity=quantity, number=number))


def revision_request(job: Job, *, quantity: int | None = None, number: int = 0) -> PrepareRequest:
    """Return what a revision was made from (the newest, unless ``number`` names another)."""
    revision = _revision_of(job, number)
    return PrepareRequest(
        data=picture_data(revision.picture),
        name=job.title,
        height_mm=traced_height(revision),
        garment=revision.garment,
        thread=revision.thread,
        quantity=quantity or revision.quantity,
        options=revision.options,
        specs=dict(revision.specs),
        edits=revision.edits,
    )


def traced_height(revision: Revision) -> float:
    """Return the height [mm] a revision's picture was cleaned at, before its edits."""
    return revision.edits.height_mm if revision.edits.edits else revision.height_mm


def wished_height(number: int) -> float | None:
    """Return the height [mm] that the customer's answers ask for, else the newest design's."""
    job = read_job(number)
    revision = job.revision
    picture = revision.picture if revision else job.pictures[-1].hash if job.pictures else ""
    wished = wishes_for(job.settled, picture).height_mm
    return wished or (revision.height_mm if revision else None)


def set_colorway(
    number: int, name: str, threads: Sequence[str], *, expected: int | None = None
) -> Job:
    """Keep the design in other threads under a name."""
    colorway = Colorway(name, tuple(threads))
    return act(number, lambda job: rules.set_colorway(job, colorway), expected=expected)


@dataclass(frozen=True, slots=True)
class PricedChange:
    """What changed from one revision to another, both priced for the pieces ordered now."""

    change: RevisionChange
    quotes: QuoteChange
    sentence: str


def compare_priced(number: int, before: int, after: int, *, unit: str = "mm") -> PricedChange:
    """Return the difference of two revisions with its price, for as many pieces as are ordered.

    Parameters
    ----------
    number, before, after : int
        The job, and the numbers of two of its revisions.
    unit : str
        ``mm`` or ``in``: how the sentence tells the height.

    Raises
    ------
    JobError, StoreError
    """
    job = read_job(number)
    one, other = _revision_of(job, before), _revision_of(job, after)
    quantity = max(1, job.n_pieces)
    quotes = compare_quotes(
        prepare_revision(job, quantity=quantity, number=one.number).quote,
        prepare_revision(job, quantity=quantity, number=other.number).quote,
    )
    return PricedChange(compare_revisions(one, other), quotes, say_change(quotes, unit=unit))


def compare(number: int, before: int, after: int) -> RevisionChange:
    """Return what revision ``after`` of a job has more than ``before``."""
    job = read_job(number)
    return compare_revisions(_revision_of(job, before), _revision_of(job, after))


def compare_areas(number: int, before: int, after: int) -> tuple[AreaChange, ...]:
    """Return what changed area by area from one revision of a job to another, each with why."""
    job = read_job(number)
    return compare_prepared(*(prepare_revision(job, number=n) for n in (before, after)))


def _completed(job: Job, request: PrepareRequest) -> PrepareRequest:
    """Fill in what the job already tells."""
    data, name = request.data, request.name
    if data:
        data = strip_picture(data, name=name)
    else:
        if not job.pictures:
            raise JobError(
                _("the job has no picture yet"),
                where=_("job {number}").format(number=job.id),
                remedy=_("give one"),
            )
        data, name = picture_data(job.pictures[-1].hash), job.pictures[-1].name or job.title
    garment = request.garment
    if not garment and job.revision:
        garment = job.revision.garment
    elif not garment and job.lines:
        garment = job.lines[0].garment
    request = replace(request, data=data, name=name, garment=garment, quantity=max(1, job.n_pieces))
    return _with_wishes(request, wishes_for(job.settled, picture_hash(data)))


def _with_wishes(request: PrepareRequest, wishes: Wishes) -> PrepareRequest:
    """Add what the customer's answers ask for; a height or merge given by hand goes first."""
    bare = request.options.bare_colors
    more = tuple(rgb for rgb in wishes.bare_colors if rgb not in bare)
    options = replace(request.options, bare_colors=(*bare, *more))
    by_hand = {edit.old for edit in request.edits.edits if isinstance(edit, SwapThread)}
    swaps = [SwapThread(old, new) for old, new in wishes.merged if old not in by_hand]
    return with_edit(replace(request, options=options), *swaps)


def revision_of(
    request: PrepareRequest, prepared: Prepared, picture: str, *, reason: str = ""
) -> Revision:
    """Return what is kept of a design that was worked out, ``picture`` being its picture's hash."""
    width, height = prepared.size_mm
    return Revision(
        number=1,
        picture=picture,
        height_mm=round(height, 3),
        width_mm=round(width, 3),
        garment=prepared.setup.garment.name,
        thread=prepared.setup.thread.name,
        options=request.options,
        specs=tuple(sorted(request.specs.items())),
        plan_id=prepared.plan.content_id(),
        threads=tuple(thread.name for thread in prepared.plan.threads),
        n_stitches=prepared.forecast.n_stitches,
        minutes=round(prepared.forecast.sewing_minutes.band.p50, 2),
        quantity=request.quantity,
        each=prepared.quote.each,
        blocks_sewing=prepared.blocks_sewing,
        reason=reason,
        edits=request.edits,
    )


def _revision_of(job: Job, number: int) -> Revision:
    wanted = number or len(job.revisions)
    for revision in job.revisions:
        if revision.number == wanted:
            return revision
    there = ", ".join(str(r.number) for r in job.revisions) or _("none")
    raise JobError(
        _("there is no revision {number}").format(number=number),
        where=_("job {number}").format(number=job.id),
        remedy=_("its revisions are: {there}").format(there=there),
    )
