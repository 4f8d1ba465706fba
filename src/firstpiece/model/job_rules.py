"""What may be done to a job as it stands: each function gives the log entries of one action.

Input: the job and what a person wants. Output: drafts of entries. Refuses what makes no sense in
the job's state, with the reason and the way on.
"""

from __future__ import annotations

from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.errors import JobError
from firstpiece.model.design import money_object
from firstpiece.model.job import JobState
from firstpiece.model.job_event import EventDraft, EventKind
from firstpiece.model.order import renumber
from firstpiece.model.plain_text import clean_line, clean_text

if TYPE_CHECKING:
    from datetime import date

    from moneyed import Money

    from firstpiece.model.design import ReceivedPicture, Revision
    from firstpiece.model.job import Job
    from firstpiece.model.order import Colorway, OrderLine
    from firstpiece.model.quote import OrderTerms
    from firstpiece.model.sewout import SewOut

Drafts = tuple[EventDraft, ...]

STEPS = {
    JobState.AGREED: (JobState.SUPPLIED, JobState.SEWING),
    JobState.SUPPLIED: (JobState.AGREED, JobState.SEWING),
    JobState.SEWING: (JobState.SUPPLIED, JobState.DONE),
    JobState.DONE: (JobState.SEWING,),
}
"""Where a job may go by hand; all other ways are a change, an offer, a yes or a drop."""

_FIXED = (JobState.SEWING, JobState.DONE, JobState.DROPPED)


def open_job(
    *, title: str, customer: int = 0, message: str = "", due: date | None = None
) -> Drafts:
    """Return the first entry of a new job.

    Raises
    ------
    JobError
        When it has no title.
    """
    figures: dict[str, Any] = {"customer": customer, "due": due.isoformat() if due else None}
    words = {"title": _title(title), "message": clean_text(message, where=_("message"))}
    return (EventDraft(EventKind.OPENED, figures, words),)


def change_head(job: Job, changes: dict[str, Any]) -> Drafts:
    """Return the entry that changes ``title``, ``message``, ``customer`` or ``due``.

    Nothing is returned when nothing changes.
    """
    figures: dict[str, Any] = {}
    words: dict[str, Any] = {}
    if "title" in changes:
        words["title"] = _title(changes["title"])
    if "message" in changes:
        words["message"] = clean_text(changes["message"], where=_("message"))
    if "customer" in changes:
        figures["customer"] = changes["customer"]
    if "due" in changes:
        figures["due"] = changes["due"].isoformat() if changes["due"] else None
    due = job.due.isoformat() if job.due else None
    now = {"title": job.title, "message": job.message, "customer": job.customer, "due": due}
    if all(now[name] == value for name, value in (figures | words).items()):
        return ()
    return (EventDraft(EventKind.CHANGED, figures, words),)


def receive_picture(job: Job, picture: ReceivedPicture) -> Drafts:
    """Return the entry of a picture that arrived; a picture already there says nothing new."""
    if any(p.hash == picture.hash for p in job.pictures):
        return ()
    figures = {"hash": picture.hash, "n_bytes": picture.n_bytes}
    words = {"name": clean_line(picture.name, where=_("picture"))}
    return (EventDraft(EventKind.PICTURE, figures, words),)


def revise(job: Job, revision: Revision) -> Drafts:
    """Return the entry of a new version of the design."""
    check_changeable(job)
    reason = clean_line(revision.reason, where=_("reason"))
    figures = {**revision.figures(), "number": len(job.revisions) + 1}
    return (EventDraft(EventKind.REVISION, figures, {"reason": reason} if reason else {}),)


def check_changeable(job: Job) -> None:
    """Raise JobError when a job's design can no longer change, before work is put into one."""
    _check_not_fixed(job, _("the design can no longer change"))


def set_colorway(job: Job, colorway: Colorway) -> Drafts:
    """Return the entry that adds a colourway or replaces the one of that name."""
    _check_not_fixed(job, _("the colours can no longer change"))
    revision = _newest(job)
    if len(colorway.threads) != len(revision.threads):
        raise JobError(
            _("the colourway names {n} threads, the design has {wanted}").format(
                n=len(colorway.threads), wanted=len(revision.threads)
            ),
            where=_job(job),
            remedy=_("name one for each of {threads}").format(threads=", ".join(revision.threads)),
        )
    figures = {"name": colorway.name, "threads": list(colorway.threads)}
    return (EventDraft(EventKind.COLORWAY, figures),)


def put_line(job: Job, line: OrderLine) -> Drafts:
    """Return the entry that adds a line, or replaces the one with its number."""
    _check_not_fixed(job, _("the order can no longer change"))
    taken = {other.number for other in job.lines}
    if line.number and line.number not in taken:
        raise _no_line(job, line.number)
    if line.colorway and line.colorway not in {c.name for c in job.colorways}:
        raise JobError(
            _("there is no colourway “{name}”").format(name=line.colorway),
            where=_job(job),
            remedy=_("set it first, or leave it out for the design's own threads"),
        )
    placed = line if line.number else renumber(line, max(taken, default=0) + 1)
    if placed in job.lines:
        return ()
    return (EventDraft(EventKind.LINE, placed.figures(), placed.words()),)


def change_line(job: Job, number: int, changes: dict[str, Any]) -> Drafts:
    """Return the entry that changes fields of a line."""
    for line in job.lines:
        if line.number == number:
            return put_line(job, replace(line, **changes))
    raise _no_line(job, number)


def remove_line(job: Job, number: int) -> Drafts:
    """Return the entry that takes a line out."""
    _check_not_fixed(job, _("the order can no longer change"))
    if number not in {line.number for line in job.lines}:
        raise _no_line(job, number)
    return (EventDraft(EventKind.LINE_REMOVED, {"number": number}),)


def ask(job: Job, text: str) -> Drafts:
    """Return the entry of a question sent to the customer."""
    _check_open(job)
    return (EventDraft(EventKind.QUESTION, {}, {"text": _said(text)}),)


def answer(job: Job, text: str) -> Drafts:
    """Return the entry of the customer's answer."""
    if not job.question:
        raise JobError(
            _("nothing was asked"), where=_job(job), remedy=_("record the question first")
        )
    return (EventDraft(EventKind.ANSWER, {}, {"text": _said(text)}),)


def offer(  # noqa: PLR0913 - each is one thing the log keeps of an offer
    job: Job,
    *,
    quantity: int,
    net: Money,
    total: Money,
    valid_until: date | None,
    terms: OrderTerms | None = None,
    deposit: Money | None = None,
) -> Drafts:
    """Return the entry of a price offered for the newest design."""
    _check_not_fixed(job, _("no price is open any more"))
    if job.state in STEPS:
        raise JobError(
            _("the price is already agreed"),
            where=_job(job),
            remedy=_("revise the design or change the order first"),
        )
    figures = {
        "revision": _newest(job).number,
        "quantity": quantity,
        "net": money_object(net),
        "total": money_object(total),
        "valid_until": valid_until.isoformat() if valid_until else None,
        "free": terms.free_pieces if terms else 0,
        "is_rush": bool(terms and terms.is_rush),
        "deposit": money_object(deposit) if deposit is not None else None,
    }
    return (EventDraft(EventKind.OFFER, figures),)


def agree(job: Job, *, said_by: str, price: Money | None = None) -> Drafts:
    """Return the entry that freezes design, threads, garments and price.

    Parameters
    ----------
    job : Job
    said_by : str
        Who said yes.
    price : moneyed.Money or None
        None takes the price offered.

    Raises
    ------
    JobError
        Without a design, lines, a price or somebody who said yes.
    """
    _check_not_fixed(job, _("it was agreed before"))
    revision = _newest(job)
    if not job.lines:
        raise JobError(
            _("the order has no lines yet"), where=_job(job), remedy=_("add what is to be sewn")
        )
    if price is None and job.offer is None:
        raise JobError(
            _("no price was offered for what is ordered now"),
            where=_job(job),
            remedy=_("offer one, or name the price agreed"),
        )
    who = clean_line(said_by, where=_("who said yes"))
    if not who:
        raise JobError(_("nobody said yes"), where=_job(job), remedy=_("name who agreed, and how"))
    agreed_price = price if price is not None else job.offer.total if job.offer else None
    assert agreed_price is not None
    figures = {
        "revision": revision.number,
        "plan_id": revision.plan_id,
        "height_mm": revision.height_mm,
        "threads": list(revision.threads),
        "colorways": [{"name": c.name, "threads": list(c.threads)} for c in job.colorways],
        "lines": [line.figures() for line in job.lines],
        "price": money_object(agreed_price),
    }
    names = {str(line.number): list(line.names) for line in job.lines if line.names}
    return (EventDraft(EventKind.AGREEMENT, figures, {"said_by": who, "names": names}),)


def step(job: Job, state: JobState) -> Drafts:
    """Return the entry that moves a job on by hand."""
    allowed = STEPS.get(job.state, ())
    if state not in allowed:
        ways = ", ".join(allowed) or _("the customer's yes comes first")
        raise JobError(
            _("a job that is {now} cannot become {state}").format(now=job.state, state=state),
            where=_job(job),
            remedy=_("it can become: {ways}").format(ways=ways) if allowed else ways,
        )
    return (EventDraft(EventKind.STEP, {"state": str(state)}),)


def record_sewout(job: Job, sewout: SewOut) -> Drafts:
    """Return the entry of a sew-out of one of the job's revisions.

    Raises
    ------
    JobError
        When the job has no such revision or plan, or nothing was seen.
    """
    sewn = next((r for r in job.revisions if r.number == sewout.revision), None)
    if sewn is None or sewn.plan_id != sewout.plan_id:
        raise JobError(
            _("the job has no plan {plan} as revision {n}").format(
                plan=sewout.plan_id or "–", n=sewout.revision
            ),
            where=_job(job),
            remedy=_("look at the job's revisions"),
        )
    if not (sewout.photos or sewout.seen or sewout.change):
        raise JobError(
            _("nothing is told of the sew-out"),
            where=_job(job),
            remedy=_("say what was seen or changes next, or give a photo"),
        )
    return (EventDraft(EventKind.SEWN_OUT, sewout.figures(), sewout.words()),)


def note(job: Job, text: str) -> Drafts:  # noqa: ARG001 - a note may be made at any time
    """Return the entry of a remark."""
    return (EventDraft(EventKind.NOTE, {}, {"text": _said(text)}),)


def drop(job: Job, reason: str = "") -> Drafts:
    """Return the entry that gives a job up."""
    _check_open(job)
    said = clean_line(reason, where=_("reason"))
    return (EventDraft(EventKind.DROPPED, {}, {"reason": said} if said else {}),)


def take_up(job: Job) -> Drafts:
    """Return the entry that takes a dropped job up again."""
    if job.state != JobState.DROPPED:
        raise JobError(_("the job was not dropped"), where=_job(job))
    return (EventDraft(EventKind.TAKEN_UP),)


def reorder(past: Job, *, due: date | None = None, title: str = "") -> Drafts:
    """Return the entries of a new job that repeats a past one.

    It starts from the design agreed last (the newest when none was), with its cards and wishes,
    the colourways and the lines without the names.
    """
    chosen = past.agreements[-1].revision if past.agreements else 0
    revision = next((r for r in past.revisions if r.number == chosen), past.revision)
    if revision is None:
        raise JobError(
            _("the job has no design to repeat"), where=_job(past), remedy=_("open a new job")
        )
    figures = {
        "customer": past.customer,
        "due": due.isoformat() if due else None,
        "reorder_of": past.id,
    }
    drafts = [EventDraft(EventKind.REORDERED, figures, {"title": _title(title or past.title)})]
    drafts += [
        EventDraft(EventKind.PICTURE, {"hash": p.hash, "n_bytes": p.n_bytes}, {"name": p.name})
        for p in past.pictures
    ]
    reason = _("as sewn for job {number}").format(number=past.id)
    same = {**revision.figures(), "number": 1}
    drafts.append(EventDraft(EventKind.REVISION, same, {"reason": reason}))
    drafts += [
        EventDraft(EventKind.COLORWAY, {"name": c.name, "threads": list(c.threads)})
        for c in past.colorways
        if len(c.threads) == len(revision.threads)
    ]
    kept = {d.figures["name"] for d in drafts if d.kind == EventKind.COLORWAY}
    lines = past.agreements[-1].lines if past.agreements else past.lines
    for number, line in enumerate(lines, start=1):
        figures_kept = {**renumber(line, number).figures()}
        if line.colorway not in kept:
            figures_kept["colorway"] = ""
        drafts.append(EventDraft(EventKind.LINE, figures_kept))
    return tuple(drafts)


def _check_open(job: Job) -> None:
    if not job.state.is_open:
        raise JobError(
            _("the job is {state}").format(state=job.state),
            where=_job(job),
            remedy=_("reorder it, or take it up again"),
        )


def _check_not_fixed(job: Job, what: str) -> None:
    if job.state in _FIXED:
        raise JobError(
            _("the job is {state}, so {what}").format(state=job.state, what=what),
            where=_job(job),
            remedy=_("reorder it as a new job"),
        )


def _newest(job: Job) -> Revision:
    if job.revision is None:
        raise JobError(
            _("the job has no design yet"), where=_job(job), remedy=_("revise it with a picture")
        )
    return job.revision


def _no_line(job: Job, number: int) -> JobError:
    there = ", ".join(str(line.number) for line in job.lines) or _("none")
    return JobError(
        _("there is no line {number}").format(number=number),
        where=_job(job),
        remedy=_("its lines are: {there}").format(there=there),
    )


def _title(text: str) -> str:
    title = clean_line(text, where=_("title"))
    if not title:
        raise JobError(_("the job has no title"), remedy=_("say in a few words what it is"))
    return title


def _said(text: str) -> str:
    said = clean_text(text)
    if not said:
        raise JobError(_("the text is empty"), remedy=_("write what was said"))
    return said


def _job(job: Job) -> str:
    return _("job {number}").format(number=job.id)
