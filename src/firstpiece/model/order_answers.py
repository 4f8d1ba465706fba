"""An answer to a lettered point of an order: the log entries that record it and carry it out.

Input: the job, the letter, a choice's number or free words. Output: drafts of entries: the answer,
and the changes of due date, line or pieces that follow from it.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import JobError
from firstpiece.model import job_rules as rules
from firstpiece.model.job_event import EventDraft, EventKind
from firstpiece.model.order import OrderLine
from firstpiece.model.plain_text import clean_text
from firstpiece.units import parse_length_mm

if TYPE_CHECKING:
    from collections.abc import Callable

    from firstpiece.model.job import Job
    from firstpiece.model.job_rules import Drafts
    from firstpiece.model.order_question import AskedPoint
    from firstpiece.model.question import Choice

_SIZE = re.compile(r"(?:(\d+)\s*[x×]?\s+)?([^\s,;]+)")


def ask_points(job: Job, text: str, points: tuple[AskedPoint, ...]) -> Drafts:
    """Return the entry of a message sent to the customer with its lettered points."""
    (sent,) = rules.ask(job, text)
    return (replace(sent, figures={"points": [point.figures() for point in points]}),)


def answer_point(job: Job, letter: str, choice: str) -> Drafts:
    """Return the entries of an answer to one point and of what follows from it.

    Parameters
    ----------
    job : Job
    letter : str
        Upper or lower case.
    choice : str
        The number of a choice, or free words where there is none.

    Raises
    ------
    JobError
        When no such point or choice is open, or the words cannot be carried out.
    """
    point = next((p for p in job.asked if p.letter == letter.strip().upper()), None)
    if point is None:
        still_open = ", ".join(p.letter for p in job.asked) or _("none")
        raise JobError(
            _("no point “{letter}” is open").format(letter=letter[:8]),
            where=_where(job),
            remedy=_("open are: {letters}; what is open can be asked anew").format(
                letters=still_open
            ),
        )
    if point.choices:
        chosen = _choice(job, point, choice)
        effect, value, said = chosen.effect, chosen.value, chosen.label
        follows = _carry_out_choice(job, point, chosen)
    else:
        effect, value, said = "said", None, clean_text(choice)
        if point.code == "height":
            effect, value = "height", parse_length_mm(said, default_unit="mm")
        follows = _FREE[point.code](job, point, said)
    figures = {
        "letter": point.letter,
        "code": point.code,
        "about": point.about,
        "picture": point.picture,
        "effect": effect,
        "value": value,
    }
    return (EventDraft(EventKind.ANSWER, figures, {"text": said}), *follows)


def _choice(job: Job, point: AskedPoint, text: str) -> Choice:
    n_choices = len(point.choices)
    if not text.strip().isdecimal() or not 1 <= int(text) <= n_choices:
        raise JobError(
            _("“{text}” is not an answer to {letter}").format(text=text[:20], letter=point.letter),
            where=_where(job),
            remedy=_("give the number of an answer, 1 to {n}").format(n=n_choices),
        )
    return point.choices[int(text) - 1]


def _carry_out_choice(job: Job, point: AskedPoint, chosen: Choice) -> Drafts:
    """Change what is ordered; what the next design follows is read from the answers."""
    if point.code == "placement" and chosen.value:
        return rules.change_line(job, int(point.about), {"placement": str(chosen.value)})
    return ()


def _say_due(job: Job, _point: AskedPoint, text: str) -> Drafts:
    try:
        due = date.fromisoformat(text.strip())
    except ValueError as fault:
        raise _unclear(job, text, _("write the day like 2031-04-05")) from fault
    return rules.change_head(job, {"due": due})


def _say_pieces(job: Job, _point: AskedPoint, text: str) -> Drafts:
    """Take a number alone as so many of what the design was made for."""
    plain = text.strip()
    if job.revision is None or not (plain.isdecimal() and int(plain)):
        raise _unclear(job, text, _("add the pieces to the order as lines"))
    return rules.put_line(job, OrderLine(0, job.revision.garment, int(plain)))


def _say_color(job: Job, point: AskedPoint, text: str) -> Drafts:
    return rules.change_line(job, int(point.about), {"color": text})


def _say_sizes(job: Job, point: AskedPoint, text: str) -> Drafts:
    """Share a line's pieces out by size: the first size stays in the line, others get their own."""
    line = next((one for one in job.lines if one.number == int(point.about)), None)
    if line is None:
        raise _unclear(job, text, _("its line was removed: ask anew"))
    parts = [part.strip() for part in re.split(r"[,;]", text) if part.strip()]
    sizes = [_SIZE.fullmatch(part) for part in parts]
    told = [(int(m[1] or 0), m[2]) for m in sizes if m]
    if len(told) == 1 and not told[0][0]:
        told = [(line.count, told[0][1])]
    if not told or len(told) != len(parts) or sum(n for n, _size in told) != line.count:
        raise _unclear(job, text, _("share out {n} pieces like “4 S, 6 M”").format(n=line.count))
    if any(not n for n, _size in told) or (line.names and len(told) > 1):
        raise _unclear(job, text, _("change the line itself"))
    (count, size), *rest = told
    drafts = rules.change_line(job, line.number, {"count": count, "size": size})
    taken = max(one.number for one in job.lines)
    for number, (more, other) in enumerate(rest, start=taken + 1):
        new = replace(line, number=number, count=more, size=other, names=())
        drafts += (EventDraft(EventKind.LINE, new.figures(), new.words()),)
    return drafts


_FREE: dict[str, Callable[[Job, AskedPoint, str], Drafts]] = {
    "height": lambda _job, _point, _text: (),
    "due": _say_due,
    "pieces": _say_pieces,
    "color": _say_color,
    "sizes": _say_sizes,
}


def _unclear(job: Job, text: str, remedy: str) -> JobError:
    return JobError(
        _("“{text}” cannot be carried out").format(text=text[:40]),
        where=_where(job),
        remedy=remedy,
    )


def _where(job: Job) -> str:
    return _("job {number}").format(number=job.id)
