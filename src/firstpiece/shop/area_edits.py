"""A person's edits carried out on the cleaned design before it is planned.

Input: the design as traced, the log of edits, threads and fonts. Output: the edited design, kept
under a key of its own, so that only what lies downstream is worked out again.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.editing.means import EditMeans
from firstpiece.editing.stage import replay_edits
from firstpiece.model.edit import SwapThread
from firstpiece.model.finding import Finding, Severity
from firstpiece.shop.lookup import Kept, look_up

if TYPE_CHECKING:
    from collections.abc import Mapping

    from firstpiece.errors import EditError
    from firstpiece.model.edit import Edit, EditLog
    from firstpiece.model.material import ThreadColor
    from firstpiece.model.region import RegionMap
    from firstpiece.store.results import ResultShelf

SAME_HEIGHT_MM = 0.01


def edit_design(
    design: Kept[RegionMap],
    log: EditLog,
    *,
    rack: tuple[ThreadColor, ...],
    fonts: Mapping[str, bytes],
    shelf: ResultShelf,
) -> Kept[RegionMap]:
    """Return the design after a person's edits.

    At another height than the edits were made at, those that cannot be done any more are passed
    over with a finding; at their own height they are refused.

    Raises
    ------
    EditError
        When an edit cannot be done, or nothing would be left to sew.
    """
    if not log.edits:
        return design
    # Fonts go into the key by what they hold: paths and names may change.
    marks = tuple(sorted((n, hashlib.sha256(data).hexdigest()) for n, data in fonts.items()))
    means = EditMeans(rack=rack, fonts=fonts)
    return look_up(
        shelf,
        "editing",
        (design, replace(log, undone=()), rack, marks),
        lambda: edited_map(design.value, log, means=means),
    )


def edited_map(region_map: RegionMap, log: EditLog, *, means: EditMeans) -> RegionMap:
    """Return the traced design after a log, with a finding for each edit that was lost."""
    was_here = abs(log.height_mm - region_map.height_mm) < SAME_HEIGHT_MM
    done = replay_edits(region_map, log, means=means, strict=False)
    failed = [(log.edits[place], fault) for place, fault in done.failed]
    failed = [f for f in failed if not _is_moot(f[0], done.region_map)]
    if failed and (was_here or not log.height_mm):
        raise failed[0][1]
    lost = tuple(
        Finding("edit-lost", Severity.NOTE, _lost_words(edit, fault)) for edit, fault in failed
    )
    return replace(done.region_map, findings=(*done.region_map.findings, *lost))


def _is_moot(edit: Edit, region_map: RegionMap) -> bool:
    """Whether a thread was to be swapped that nothing is sewn in any more."""
    used = {region_map.thread_of(region).name for region in region_map.sewn_regions}
    return isinstance(edit, SwapThread) and edit.old not in used


def _lost_words(edit: Edit, fault: EditError) -> str:
    words = _("An edit ({kind}) was made at another height and could not be made again: {fault}")
    return words.format(kind=edit.kind, fault=fault)
