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
    """Return the findings worst first, each code with places once.

    The worst of a code keeps its place, figures and remedies; the others are counted in its
    sentence, and the first remedy of each is offered too, up to five remedies in all. Findings
    that hold for the whole design stay as they are, each sentence once.
    """
    placed: dict[str, list[Finding]] = {}
    whole: dict[str, Finding] = {}
    for finding in rank_findings(tuple(findings)):
        if finding.where_mm is None and finding.region_id < 0:
            whole.setdefault(finding.reason, finding)
        else:
            placed.setdefault(finding.code, []).append(finding)
    return rank_findings((*whole.values(), *(_merge(group) for group in placed.values())))


def _merge(group: list[Finding]) -> Finding:
    worst, others = group[0], group[1:]
    if not others:
        return worst
    remedies: list[Remedy] = list(worst.remedies)
    for other in others:
        remedies += [r for r in other.remedies[:1] if _is_new(r, remedies)]
    more = ngettext(
        "The same in {n} more place.", "The same in {n} more places.", len(others)
    ).format(n=len(others))
    return replace(worst, reason=f"{worst.reason} {more}", remedies=tuple(remedies[:MOST_REMEDIES]))


def _is_new(remedy: Remedy, remedies: list[Remedy]) -> bool:
    """Return whether a remedy adds a choice; the worst place's height is enough for all."""
    return all(
        remedy.label != known.label and (remedy.action, known.action) != ("height", "height")
        for known in remedies
    )
