"""Why an area is sewn as it is and when it is, in one sentence.

Input: the recipe's reason, the threads, the order and what lies on what. Output: a sentence.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.stitch import StitchType

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.planning.recipe import Recipe

MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class SewnWhen:
    """When an area is sewn and among what.

    Parameters
    ----------
    place : int
        From 0 through the plan.
    n_areas : int
    under, over : tuple of int
        Touching areas, by id, that are sewn before and after it.
    same_thread_before : bool
        True when the area before it in the order has its thread.
    """

    place: int
    n_areas: int
    under: tuple[int, ...] = ()
    over: tuple[int, ...] = ()
    same_thread_before: bool = False


def explain_area(recipe: Recipe, when: SewnWhen) -> str:
    """Return one sentence on an area: how it is sewn, why, and why at its place in the order.

    Parameters
    ----------
    recipe : Recipe
    when : SewnWhen
    """
    parts = [recipe.reason.rstrip(". ")]
    if recipe.stitch_type is StitchType.FILL:
        parts.append(
            _("rows {spacing:.2f} mm apart at {angle:.0f}°").format(
                spacing=recipe.spacing_mm, angle=np.degrees(recipe.angle_rad) % 180
            )
        )
    elif recipe.stitch_type is StitchType.SATIN:
        parts.append(_("columns {spacing:.2f} mm apart").format(spacing=recipe.spacing_mm))
    if recipe.underlay:
        names = ", ".join(str(u) for u in recipe.underlay)
        parts.append(_("on {underlay}").format(underlay=names))
    parts.append(_when_words(when))
    return "; ".join(parts) + "."


def _when_words(when: SewnWhen) -> str:
    words = _("sewn {place} of {n}").format(place=when.place + 1, n=when.n_areas)
    if when.under:
        words += " " + _("on top of {areas}").format(areas=_named(when.under))
    if when.over:
        words += " " + _("before {areas}, which lie on it").format(areas=_named(when.over))
    if not when.under and not when.over and when.same_thread_before:
        words += " " + _("as the nearest of its thread")
    return words


def _named(ids: Sequence[int]) -> str:
    first = ", ".join(str(i) for i in sorted(ids)[:MOST_NAMED])
    if len(ids) > MOST_NAMED:
        return _("areas {first} and {n} more").format(first=first, n=len(ids) - MOST_NAMED)
    return _("area {first}").format(first=first) if len(ids) == 1 else _(
        "areas {first}"
    ).format(first=first)  # fmt: skip


def explain_changes(n_changes: int, fewest: int | None, n_threads: int) -> str:
    """Return one sentence on the number of thread changes.

    Parameters
    ----------
    n_changes : int
    fewest : int or None
        What no sound order can go below.
    n_threads : int
    """
    if n_changes == n_threads - 1:
        return _("{n} thread changes, one for each thread after the first.").format(n=n_changes)
    if fewest is not None and n_changes == fewest:
        return _(
            "{n} thread changes for {threads} threads: no order has fewer that sews outlines and"
            " details on top of what they lie on."
        ).format(n=n_changes, threads=n_threads)
    words = _("{n} thread changes for {threads} threads; at least {fewest} are needed.")
    return words.format(n=n_changes, threads=n_threads, fewest=fewest or 0)
