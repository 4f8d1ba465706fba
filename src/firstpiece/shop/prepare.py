"""The chain: a picture becomes a cleaned design, a plan, a forecast, a quote and open questions.

Input: the picture's bytes and what is asked of the job. Output: a ``Prepared``. Stages whose inputs
did not change are looked up.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from gettext import gettext as _
from types import MappingProxyType
from typing import TYPE_CHECKING

from firstpiece.briefing import stage as briefing
from firstpiece.errors import InputError, LengthError, PictureError
from firstpiece.files.picture import read_artwork
from firstpiece.files.shipped_fonts import shipped_fonts
from firstpiece.forecasting import stage as forecasting
from firstpiece.model.edit import NO_EDITS, EditLog
from firstpiece.model.finding import Severity, rank_findings
from firstpiece.model.hooping import needle_places, smallest_hoop
from firstpiece.model.material import Needle
from firstpiece.model.region import TraceOptions
from firstpiece.planning import stage as planning
from firstpiece.pricing import stage as pricing
from firstpiece.shop.area_edits import edit_design
from firstpiece.shop.cards import open_cards
from firstpiece.shop.lookup import Kept, look_up, open_shelf
from firstpiece.shop.true_shape import plan_true_shape
from firstpiece.tracing import stage as tracing

if TYPE_CHECKING:
    from firstpiece.files.material_card import CardDrawer
    from firstpiece.model.artwork import Artwork
    from firstpiece.model.finding import Finding
    from firstpiece.model.forecast import Forecast
    from firstpiece.model.material import Hoop, Setup
    from firstpiece.model.question import Questions
    from firstpiece.model.quote import OrderTerms, PriceCard, Quote
    from firstpiece.model.region import RegionMap
    from firstpiece.model.stitch import SewFrom, StitchPlan, StitchSpec
    from firstpiece.shop.true_shape import ShapeAim
    from firstpiece.store.results import ResultShelf

Report = Callable[[float, str], None]

SMALLEST_HEIGHT_MM = 5.0
LARGEST_HEIGHT_MM = 1000.0
"""Outside these no hoop, thread or garment fits; hoops themselves are the forecast's business."""


@dataclass(frozen=True, slots=True, eq=False)
class PrepareRequest:
    """Everything asked of one job; can be sent to a worker.

    Parameters
    ----------
    data : bytes
        The picture's file.
    name : str
        Its label.
    height_mm : float [mm]
        Height of the art's painted box.
    garment, thread : str
        Card names; empty takes the shop's default garment and the garment's usual thread.
    quantity : int
    options : TraceOptions
    specs : mapping of int to StitchSpec
        A person's wishes by area.
    cards : CardDrawer or None
        None opens the shop's own.
    edits : EditLog
        A person's edits of the cleaned design.
    backing : str
        Card name; empty takes the garment's usual backing.
    needle : int
        Metric size (Nm); 0 takes the garment's usual needle.
    topping : bool
        Lay a film over the cloth.
    true_shape : bool
        Set outlines out so that the piece settles as drawn by the forecast, instead of widening
        by the cloth card's one number.
    fonts : mapping of str to bytes
        Font files for set text, by the name that edits call them; the shipped ones are always
        there.
    sew_from : SewFrom or None
        Where each thread begins; None goes by the garment.
    """

    data: bytes
    name: str
    height_mm: float
    garment: str = ""
    thread: str = ""
    quantity: int = 1
    options: TraceOptions = field(default_factory=TraceOptions)
    specs: Mapping[int, StitchSpec] = field(default_factory=dict)
    cards: CardDrawer | None = None
    edits: EditLog = NO_EDITS
    backing: str = ""
    needle: int = 0
    topping: bool = False
    true_shape: bool = False
    fonts: Mapping[str, bytes] = field(default_factory=dict)
    sew_from: SewFrom | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """A job ready to be shown, quoted and sewn."""

    artwork: Artwork
    region_map: RegionMap
    plan: StitchPlan
    forecast: Forecast
    quote: Quote
    setup: Setup
    questions: Questions
    card: PriceCard
    aim: ShapeAim | None = None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Everything worth a look, from reading to forecasting, worst first, each told once."""
        told = (
            *self.artwork.notes,
            *self.region_map.findings,
            *self.plan.findings,
            *self.forecast.findings,
        )
        return rank_findings(tuple(dict.fromkeys(told)))

    @property
    def blocks_sewing(self) -> bool:
        """True when a finding says that the job must not be sewn as it is."""
        return any(f.severity == Severity.BLOCK for f in self.findings)

    @property
    def hoop(self) -> Hoop | None:
        """The smallest of the garment's hoops that every needle and foot place clears, or None."""
        return smallest_hoop(needle_places(self.plan), self.setup.hoops)

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the painted box [mm]."""
        return (self.region_map.width_mm, self.region_map.height_mm)


def prepare_picture(  # noqa: PLR0913 - each is one thing a shop says about a job
    data: bytes,
    *,
    name: str,
    height_mm: float,
    garment: str = "",
    thread: str = "",
    quantity: int = 1,
    options: TraceOptions | None = None,
    specs: Mapping[int, StitchSpec] = MappingProxyType({}),
    cards: CardDrawer | None = None,
    report: Report | None = None,
) -> Prepared:
    """Return a picture's whole job at one height on one garment.

    Parameters
    ----------
    data : bytes
        A PNG, JPEG, WebP or SVG file.
    name : str
        A label for people.
    height_mm : float [mm]
        Height of the art's painted box, 5 to 1000.
    garment, thread : str
        Card names; empty takes the shop's default and the garment's usual thread.
    quantity : int
        Pieces to quote.
    options : TraceOptions or None
        How to read the picture.
    specs : mapping of int to StitchSpec
        Wishes by area id.
    cards : CardDrawer or None
        None opens the shop's own.
    report : callable or None
        Called as ``report(fraction, words)`` before every step; may raise to stop.

    Returns
    -------
    Prepared

    Raises
    ------
    PictureError, LengthError, CardError, InputError
        When the job cannot be made of what was given.
    """
    request = PrepareRequest(
        data=data,
        name=name,
        height_mm=height_mm,
        garment=garment,
        thread=thread,
        quantity=quantity,
        options=options or TraceOptions(),
        specs=dict(specs),
        cards=cards,
    )
    return prepare(request, report=report)


def prepare(
    request: PrepareRequest, *, report: Report | None = None, shelf: ResultShelf | None = None
) -> Prepared:
    """Return the job of a request; see ``prepare_picture``."""
    tell = report or _silent
    shelf = shelf or open_shelf()
    cards = request.cards or open_cards()
    setup = setup_of(request, cards)
    artwork, design = edited_design(request, setup=setup, shelf=shelf, report=tell)
    return carry_through(request, artwork, design, setup=setup, shelf=shelf, report=tell)


def carry_through(
    request: PrepareRequest,
    artwork: Artwork,
    design: Kept[RegionMap],
    *,
    setup: Setup,
    shelf: ResultShelf,
    report: Report | None = None,
) -> Prepared:
    """Return the job of a cleaned design: planned, forecast and priced as the request says."""
    tell = report or _silent
    card = (request.cards or open_cards()).prices()
    tell(0.35, _("Planning the stitches"))
    plan, aim = _plan(design, request, setup, shelf)
    tell(0.75, _("Forecasting the sew-out"))
    forecast = look_up(
        shelf,
        "forecasting",
        (plan, design, setup),
        lambda: forecasting.forecast_sewout(
            plan.value,
            region_map=design.value,
            setup=setup,
            outlines=aim.outlines if aim else {},
            memo=shelf.memo,
        ),
    )
    tell(0.95, _("Pricing"))
    size = (design.value.width_mm, design.value.height_mm)
    quote = pricing.price_job(
        forecast.value, setup=setup, card=card, size_mm=size, quantity=request.quantity
    )
    questions = ask_questions(design, setup=setup, shelf=shelf)
    tell(1.0, _("Done"))
    return Prepared(
        artwork, design.value, plan.value, forecast.value, quote, setup, questions, card, aim
    )


def _plan(
    design: Kept[RegionMap], request: PrepareRequest, setup: Setup, shelf: ResultShelf
) -> tuple[Kept[StitchPlan], ShapeAim | None]:
    """Return the plan, and what its outlines were set out to when that is asked for."""
    specs = _specs_left(request, design.value)
    if request.true_shape:
        return plan_true_shape(
            design, setup=setup, specs=specs, shelf=shelf, sew_from=request.sew_from
        )
    plan = look_up(
        shelf,
        "planning",
        (design, setup, specs, request.sew_from),
        lambda: planning.plan_stitches(
            design.value,
            setup=setup,
            specs=specs,
            memo=shelf.memo,
            sew_from=request.sew_from,
        ),
    )
    return plan, None


def setup_of(request: PrepareRequest, cards: CardDrawer) -> Setup:
    """Return the set-up that a request names.

    Raises
    ------
    CardError, InputError
    """
    setup = cards.setup(request.garment or cards.default_garment, thread=request.thread)
    if request.backing:
        setup = replace(setup, backing=cards.backing(request.backing))
    if request.topping:
        setup = replace(setup, topping=True)
    if request.needle:
        try:
            setup = replace(setup, needle=Needle(request.needle, setup.needle.point))
        except ValueError as fault:
            raise InputError(
                _("Nm {size} is not a needle size").format(size=request.needle),
                remedy=_("give a metric size such as 65, 75 or 90"),
            ) from fault
    return setup


def read_design(
    request: PrepareRequest, *, setup: Setup, shelf: ResultShelf, report: Report
) -> tuple[Artwork, Kept[RegionMap]]:
    """Return the picture and the design cleaned from it.

    Raises
    ------
    PictureError, LengthError
    """
    check_height(request.height_mm)
    report(0.0, _("Reading the picture"))
    artwork = read_artwork(request.data, name=request.name)
    report(0.05, _("Cleaning the shapes and matching threads"))
    rack = setup.thread.colors
    design = look_up(
        shelf,
        "tracing",
        (artwork, request.height_mm, rack, request.options),
        lambda: tracing.trace_artwork(
            artwork, height_mm=request.height_mm, rack=rack, options=request.options
        ),
    )
    if not design.value.sewn_regions:
        raise PictureError(
            _("nothing in the picture is left to sew"),
            where=request.name,
            remedy=_("leave fewer colours bare, or keep the background"),
        )
    return artwork, design


def edited_design(
    request: PrepareRequest, *, setup: Setup, shelf: ResultShelf, report: Report
) -> tuple[Artwork, Kept[RegionMap]]:
    """Return the picture and its cleaned design after the person's edits, before any planning.

    Raises
    ------
    PictureError, LengthError, EditError
    """
    artwork, design = read_design(request, setup=setup, shelf=shelf, report=report)
    fonts = {**shipped_fonts(), **request.fonts}
    rack = setup.thread.colors
    return artwork, edit_design(design, request.edits, rack=rack, fonts=fonts, shelf=shelf)


def ask_questions(design: Kept[RegionMap], *, setup: Setup, shelf: ResultShelf) -> Questions:
    """Return what the cleaned design leaves open."""
    return look_up(
        shelf,
        "briefing",
        (design, setup),
        lambda: briefing.list_questions(design.value, setup=setup),
    ).value


def price_at(prepared: Prepared, quantity: int, terms: OrderTerms | None = None) -> Quote:
    """Return the quote of the same job for another number of pieces, or on other terms."""
    return pricing.price_job(
        prepared.forecast,
        setup=prepared.setup,
        card=prepared.card,
        size_mm=prepared.size_mm,
        quantity=quantity,
        terms=terms,
    )


def check_height(height_mm: float) -> None:
    """Raise LengthError unless a design of this height could be sewn at all."""
    if not SMALLEST_HEIGHT_MM <= height_mm <= LARGEST_HEIGHT_MM:
        raise LengthError(
            _("a design {height:g} mm high cannot be sewn").format(height=height_mm),
            remedy=_("choose a height from {low:g} mm to {high:g} mm").format(
                low=SMALLEST_HEIGHT_MM, high=LARGEST_HEIGHT_MM
            ),
        )


def _specs_left(request: PrepareRequest, region_map: RegionMap) -> dict[int, StitchSpec]:
    """Return the wishes by area; those for areas that an edit took away go with them."""
    specs = dict(sorted(request.specs.items()))
    if not request.edits.edits:
        return specs
    sewn = {region.id for region in region_map.sewn_regions}
    return {number: spec for number, spec in specs.items() if number in sewn}


def _silent(_fraction: float, _words: str) -> None:
    """Tell nobody."""
