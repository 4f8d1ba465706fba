"""One list a person can read: repeats of a code become one finding with the worst place.

Input: all findings of tracing, planning and forecasting. Output: grouped and ranked findings; a
finding's number is its place in the list.
"""

from __future__ import annotations

from dataclasses import replace
from gettext import ngettext
from typing import TYPE_CHECKING

from firstpiece.model.finding import Finding, rank_findings

if TYPE_CHECKING:
    from collections.abc import Iterable

    from firstpiece.model.finding import Remedy

MOST_REMEDIES = 5


def group_findings(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings worst first, each code once.

    The worst of a code keeps its place, figures and remedies; the others are counted in its
    sentence, and the first remedy of each is offered too, up to five remedies in all. Findings
    that hold for the whole design are told sentence after sentence, each sentence once.
    """
    by_code: dict[str, list[Finding]] = {}
    for finding in rank_findings(tuple(findings)):
        by_code.setdefault(finding.code, []).append(finding)
    return rank_findings(tuple(_merge(group) for group in by_code.values()))


def _merge(group: list[Finding]) -> Finding:
    worst, others = group[0], group[1:]
    remedies: list[Remedy] = list(worst.remedies)
    for other in others:
        remedies += [r for r in other.remedies[:1] if _is_new(r, remedies)]
    return replace(worst, reason=_reason(worst, others), remedies=tuple(remedies[:MOST_REMEDIES]))


def _reason(worst: Finding, others: list[Finding]) -> str:
    whole = [f.reason for f in others if f.where_mm is None and f.region_id < 0]
    sentences = list(dict.fromkeys([worst.reason, *whole]))
    n_places = len(others) - len(whole)
    if n_places:
        more = ngettext("The same in {n} more place.", "The same in {n} more places.", n_places)
        sentences.append(more.format(n=n_places))
    return " ".join(sentences)


def _is_new(remedy: Remedy, remedies: list[Remedy]) -> bool:
    """Return whether a remedy adds a choice; the worst place's height is enough for all."""
    return all(
        remedy.label != known.label and (remedy.action, known.action) != ("height", "height")
        for known in remedies
    )
