"""A remedy applied as one action, and what it would cost: the same job, asked for otherwise.

Input: a request, what came of it, a remedy. Output: a new request; stages whose inputs did not
change are looked up. Remedies done by hand (a film on top, a soft cover) change no request.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.editing.stage import pin_edit
from firstpiece.errors import InputError
from firstpiece.model.edit import AreaRef, MakeBare, SwapThread, ThickenArea
from firstpiece.model.finding import rank_findings
from firstpiece.model.stitch import StitchSpec, StitchType, Underlay
from firstpiece.shop.cards import open_cards
from firstpiece.shop.prepare import prepare
from firstpiece.shop.request_edits import with_edit

if TYPE_CHECKING:
    from collections.abc import Callable

    from moneyed import Money

    from firstpiece.model.finding import Finding, Remedy
    from firstpiece.model.stitch import Treatment
    from firstpiece.shop.prepare import Prepared, PrepareRequest
    from firstpiece.store.results import ResultShelf


@dataclass(frozen=True, slots=True, eq=False)
class PricedRemedy:
    """What a remedy changes, per piece.

    Parameters
    ----------
    remedy : Remedy
    by_hand : bool
        Done at the machine; nothing is planned anew and the changes are 0.
    stitches : int
    minutes : float [min]
    each : Money
        Change of the price of one piece.
    left : float or None
        The finding's figure afterwards, None when the finding is gone (or done by hand).
    answers : bool
        Whether the finding is gone or lower.
    after : Prepared or None
    """

    remedy: Remedy
    by_hand: bool
    stitches: int
    minutes: float
    each: Money
    left: float | None
    answers: bool
    after: Prepared | None


def is_by_hand(remedy: Remedy) -> bool:
    """Return whether a remedy is done at the machine or by choosing, and not by planning anew."""
    if remedy.action == "thicken":
        return remedy.value is None or remedy.region_id < 0
    if remedy.action in ("garment", "backing"):
        return remedy.value is None
    return remedy.action == "swatch" or (remedy.action == "recolor" and remedy.value is None)


def apply_remedy(request: PrepareRequest, remedy: Remedy, *, prepared: Prepared) -> PrepareRequest:
    """Return the request that a remedy makes of this one.

    Parameters
    ----------
    request : PrepareRequest
    remedy : Remedy
        Of a finding of ``prepared``.
    prepared : Prepared
        What came of the request; tells how its areas are sewn now.

    Raises
    ------
    InputError
        When the remedy is done by hand or names an area the design does not have.
    """
    if is_by_hand(remedy) or remedy.action not in _WAYS:
        raise InputError(
            _("“{label}” is done by hand").format(label=remedy.label),
            remedy=_("do it at the machine, or choose another remedy"),
        )
    return _WAYS[remedy.action](request, remedy, prepared)


def price_remedies(
    request: PrepareRequest,
    finding: Finding,
    *,
    prepared: Prepared,
    shelf: ResultShelf | None = None,
) -> tuple[PricedRemedy, ...]:
    """Return what every remedy of a finding would change, in the finding's own order.

    Notes
    -----
    Each remedy is planned and forecast in full, never estimated. One that cannot be applied (it
    would leave nothing to sew) answers nothing.
    """
    return tuple(_price(request, finding, r, prepared, shelf) for r in finding.remedies)


def find_remedy(prepared: Prepared, mark: str) -> Remedy:
    """Return the remedy a mark like ``3`` or ``3b`` stands for: pin number and letter.

    Raises
    ------
    InputError
        When there is no such pin or letter.
    """
    findings = rank_findings(prepared.findings)
    number, letter = mark.rstrip("abcdefgh"), mark.lstrip("0123456789") or "a"
    pin = int(number) if number.isdigit() else 0
    if not 1 <= pin <= len(findings) or len(letter) != 1:
        raise InputError(
            _("there is no finding “{mark}”").format(mark=mark[:20]),
            remedy=_("give the number of a finding, and a letter for one of its remedies: 3 or 3b"),
        )
    remedies = findings[pin - 1].remedies
    place = ord(letter) - ord("a")
    if place >= len(remedies):
        raise InputError(
            _("finding {pin} has no remedy “{letter}”").format(pin=pin, letter=letter),
            remedy=_("it has {n}").format(n=len(remedies)),
        )
    return remedies[place]


def _price(
    request: PrepareRequest,
    finding: Finding,
    remedy: Remedy,
    prepared: Prepared,
    shelf: ResultShelf | None,
) -> PricedRemedy:
    try:
        after = prepare(apply_remedy(request, remedy, prepared=prepared), shelf=shelf)
    except InputError:
        return PricedRemedy(
            remedy=remedy,
            by_hand=is_by_hand(remedy),
            stitches=0,
            minutes=0.0,
            each=prepared.quote.each - prepared.quote.each,
            left=None,
            answers=is_by_hand(remedy),
            after=None,
        )
    same = [f for f in after.findings if f.code == finding.code]
    left = same[0].measured if same else None
    return PricedRemedy(
        remedy=remedy,
        by_hand=False,
        stitches=after.plan.n_stitches - prepared.plan.n_stitches,
        minutes=_minutes(after) - _minutes(prepared),
        each=after.quote.each - prepared.quote.each,
        left=left,
        answers=not same or _is_lower(same[0], finding),
        after=after,
    )


def _is_lower(now: Finding, before: Finding) -> bool:
    """Return whether what is left lies elsewhere or nearer to its limit."""
    if now.severity < before.severity:
        return True
    if now.region_id != before.region_id:
        return True
    if now.measured is None or before.measured is None or before.limit is None:
        return False
    return abs(now.measured - before.limit) < abs(before.measured - before.limit)


def _minutes(prepared: Prepared) -> float:
    return prepared.forecast.sewing_minutes.band.p50


def _treatment(prepared: Prepared, region_id: int) -> Treatment:
    for treatment in prepared.plan.treatments:
        if treatment.region_id == region_id:
            return treatment
    raise InputError(
        _("the design sews no area {n}").format(n=region_id), remedy=_("prepare it anew")
    )


def _with_spec(request: PrepareRequest, region_id: int, **wish: Any) -> PrepareRequest:
    specs = dict(request.specs)
    specs[region_id] = replace(specs.get(region_id, StitchSpec()), **wish)
    return replace(request, specs=specs)


def _set_height(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    """At another height the areas are found anew, so wishes by area would fall on others.

    Edits know their places and grow with the design.
    """
    del prepared
    return replace(request, height_mm=float(remedy.value or 0.0), specs={})


def _leave_bare(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    return with_edit(request, pin_edit(prepared.region_map, MakeBare(AreaRef(remedy.region_id))))


def _thicken(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    edit = ThickenArea(AreaRef(remedy.region_id), float(remedy.value or 0.0))
    return with_edit(request, pin_edit(prepared.region_map, edit))


def _recolor(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    """All areas in the same thread change, or a thread more would be needed."""
    design = prepared.region_map
    thread = design.thread_of(design.region(remedy.region_id))
    return with_edit(request, SwapThread(thread.name, str(remedy.value)))


def _set_spacing(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    is_satin = _treatment(prepared, remedy.region_id).stitch_type is StitchType.SATIN
    name = "column_spacing_mm" if is_satin else "row_spacing_mm"
    return _with_spec(request, remedy.region_id, **{name: float(remedy.value or 0.0)})


def _set_type(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    del prepared
    return _with_spec(request, remedy.region_id, stitch_type=StitchType(str(remedy.value)))


def _turn(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    del prepared
    return _with_spec(request, remedy.region_id, angle_rad=float(remedy.value or 0.0))


def _add_underlay(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    now = [u for u in _treatment(prepared, remedy.region_id).underlay if u is not Underlay.NONE]
    more = Underlay(str(remedy.value))
    wanted = tuple(now) if more in now else (*now, more)
    return _with_spec(request, remedy.region_id, underlay=wanted)


def _widen(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    del prepared
    return _with_spec(request, remedy.region_id, pull_mm=float(remedy.value or 0.0))


def _reorder(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    """Give every area its place, so that the one moved lands where it should."""
    now = sorted(prepared.plan.treatments, key=lambda t: t.sewn_order)
    if remedy.region_id < 0:
        now.sort(key=lambda t: t.thread_index)
    else:
        moved = _treatment(prepared, remedy.region_id)
        now.remove(moved)
        now.insert(min(len(now), int(remedy.value or 0)), moved)
    for place, treatment in enumerate(now):
        request = _with_spec(request, treatment.region_id, order=place)
    return request


def _set_garment(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    del prepared
    return replace(request, garment=str(remedy.value))


def _set_backing(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    del prepared
    return replace(request, backing=str(remedy.value))


def _set_thread(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    """Take the named thread card, or the next finer one."""
    if remedy.value is not None:
        return replace(request, thread=str(remedy.value))
    cards = request.cards or open_cards()
    now = prepared.setup.thread.tex.value
    finer = [(cards.thread(n).tex.value, n) for n in cards.names("threads")]
    finer = [entry for entry in finer if entry[0] < 0.95 * now]
    if not finer:
        raise InputError(
            _("there is no thinner thread among the cards"), remedy=_("choose another remedy")
        )
    return replace(request, thread=max(finer)[1])


def _move_tie(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    del prepared
    return _with_spec(request, remedy.region_id, tie_mm=float(remedy.value or 0.0))


def _lay_topping(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    del remedy, prepared
    return replace(request, topping=True)


def _settle(request: PrepareRequest, remedy: Remedy, prepared: Prepared) -> PrepareRequest:
    del remedy, prepared
    return replace(request, true_shape=True)


_WAYS: dict[str, Callable[[PrepareRequest, Remedy, Prepared], PrepareRequest]] = {
    "height": _set_height,
    "drop": _leave_bare,
    "thicken": _thicken,
    "recolor": _recolor,
    "spacing": _set_spacing,
    "stitch_type": _set_type,
    "angle": _turn,
    "underlay": _add_underlay,
    "pull": _widen,
    "order": _reorder,
    "garment": _set_garment,
    "backing": _set_backing,
    "thread": _set_thread,
    "tie": _move_tie,
    "true_shape": _settle,
    "topping": _lay_topping,
}
