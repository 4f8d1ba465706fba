"""Text that is sewn: set in a font, planned, forecast and priced like a picture.

Input: a ``LetterRequest``. Output: a ``Prepared``, and how small the text can be sewn in each
thread. Shipped and own fonts are known by name or given as a file.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.editing.texts import letter_areas
from firstpiece.errors import InputError
from firstpiece.files.shipped_fonts import shipped_fonts
from firstpiece.lettering.set_text import set_text
from firstpiece.model.artwork import Artwork, PaintedShape
from firstpiece.model.finding import Finding, Remedy, Severity
from firstpiece.model.frozen import content_hash
from firstpiece.model.lettering import ArcBaseline, CircleBaseline, SetText
from firstpiece.model.region import ColorMatch, Region, RegionMap
from firstpiece.planning.letter_sizes import smallest_cap_mm
from firstpiece.shop.cards import open_cards
from firstpiece.shop.lookup import Kept, open_shelf
from firstpiece.shop.prepare import Prepared, PrepareRequest, carry_through, setup_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from firstpiece.files.material_card import CardDrawer
    from firstpiece.model.lettering import Baseline
    from firstpiece.model.material import Setup, ThreadColor

DEFAULT_FONT = "Noto Sans Bold"
SMALLEST_CAP_MM, LARGEST_CAP_MM = 4.0, 100.0


@dataclass(frozen=True, slots=True, eq=False)
class LetterRequest:
    """What a text should become.

    Parameters
    ----------
    text : str
        One line.
    cap_height_mm : float [mm]
        Height of capitals, 4 to 100.
    font : str
        Name of a shipped font.
    font_data : bytes or None
        A font file instead.
    radius_mm : float or None [mm]
        Of the arc or circle the letters stand on; None is a straight line.
    is_inside, is_whole : bool
        Heads towards the centre; spread over the whole circle.
    spacing_mm : float [mm]
        Added between letters.
    color : str
        Name of the thread; empty takes the one that stands out most from the garment.
    garment, thread : str
        Card names; empty takes the usual ones.
    quantity : int
    cards : CardDrawer or None
    """

    text: str
    cap_height_mm: float
    font: str = DEFAULT_FONT
    font_data: bytes | None = field(default=None, repr=False)
    radius_mm: float | None = None
    is_inside: bool = False
    is_whole: bool = False
    spacing_mm: float = 0.0
    color: str = ""
    garment: str = ""
    thread: str = ""
    quantity: int = 1
    cards: CardDrawer | None = None


def letter_text(
    request: LetterRequest, *, report: Callable[[float, str], None] | None = None
) -> Prepared:
    """Return a text's whole job.

    Raises
    ------
    InputError, CardError
        When the text cannot be set or sewn as asked.
    """
    cards = request.cards or open_cards()
    job = PrepareRequest(
        data=b"",
        name=request.text[:60],
        height_mm=request.cap_height_mm,
        garment=request.garment,
        thread=request.thread,
        quantity=request.quantity,
        cards=cards,
    )
    setup = setup_of(job, cards)
    line = set_line(request, setup)
    color = _thread_color(request.color, setup)
    design = letter_map(line, color)
    found = small_letters(line, setup)
    if found is not None:
        design = replace(design, findings=(found,))
    artwork = Artwork(
        request.text[:60],
        design.width_mm,
        design.height_mm,
        shapes=tuple(PaintedShape(r.polygon, color.rgb) for r in design.regions),
    )
    kept = Kept(content_hash("lettering", design), design)
    return carry_through(job, artwork, kept, setup=setup, shelf=open_shelf(), report=report)


def set_line(request: LetterRequest, setup: Setup) -> SetText:
    """Return the text set for sewing on a set-up: letters opened so far that none close up."""
    if not SMALLEST_CAP_MM <= request.cap_height_mm <= LARGEST_CAP_MM:
        raise InputError(
            _("letters {height:g} mm high cannot be sewn").format(height=request.cap_height_mm),
            remedy=_("choose capitals from {low:g} mm to {high:g} mm").format(
                low=SMALLEST_CAP_MM, high=LARGEST_CAP_MM
            ),
        )
    fonts = shipped_fonts()
    if request.font_data is None and request.font not in fonts:
        raise InputError(
            _("the font “{font}” is not at hand").format(font=request.font[:80]),
            remedy=_("give its file, or one of {names}").format(names=", ".join(sorted(fonts))),
        )
    data = fonts[request.font] if request.font_data is None else request.font_data
    return set_text(
        request.text,
        data,
        cap_height_mm=request.cap_height_mm,
        spacing_mm=request.spacing_mm,
        path=_baseline(request),
        least_gap_mm=least_gap_mm(setup),
    )


def least_gap_mm(setup: Setup) -> float:
    """Return the gap between letters that stays open: both sides widened, and a thread between."""
    return 2 * setup.fabric.pull.value + setup.thread.laid_width_mm + 0.2


def smallest_heights(
    line: SetText, setup: Setup, cards: CardDrawer
) -> tuple[tuple[str, float], ...]:
    """Return each thread card's name with the smallest cap height it can sew this text at [mm]."""
    pull = setup.fabric.pull.value
    found = []
    for name in cards.names("threads"):
        width = cards.thread(name).laid_width_mm
        found.append((name, smallest_cap_mm(line, thread_mm=width, pull_mm=pull)))
    return tuple(found)


def small_letters(line: SetText, setup: Setup) -> Finding | None:
    """Return the finding that a text is too small for its thread, or None."""
    least = smallest_cap_mm(
        line, thread_mm=setup.thread.laid_width_mm, pull_mm=setup.fabric.pull.value
    )
    if line.cap_height_mm >= least:
        return None
    least = math.ceil(least * 10) / 10
    return Finding(
        "small-letters",
        Severity.WARN,
        _(
            "Capitals {height:g} mm high are too small for {thread}: strokes or openings close"
            " below {least:g} mm."
        ).format(height=line.cap_height_mm, thread=setup.thread.label, least=least),
        measured=line.cap_height_mm,
        limit=least,
        unit="mm",
        remedies=(
            Remedy(_("Set capitals {least:g} mm high.").format(least=least), "height", value=least),
            Remedy(_("Use a thinner thread."), "thread"),
        ),
    )


def letter_map(line: SetText, color: ThreadColor) -> RegionMap:
    """Return set text as a design of one thread, its painted box about the origin."""
    areas = letter_areas(line)
    x0, y0, x1, y1 = shapely.total_bounds([shape for shape, _letter in areas])
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    regions = []
    for number, (shape, letter) in enumerate(areas):
        moved = shapely.transform(shape, lambda xy: xy - middle)
        if letter is not None:
            x, y = np.array(letter.origin_mm) - middle
            letter = replace(letter, origin_mm=(float(x), float(y)))
        regions.append(Region(number, moved, 0, letter=letter))
    match = ColorMatch(color.rgb, color, 0.0)
    return RegionMap(tuple(regions), (match,), float(x1 - x0), float(y1 - y0))


def _baseline(request: LetterRequest) -> Baseline | None:
    if request.radius_mm is None:
        return None
    if request.is_whole:
        return CircleBaseline(request.radius_mm, is_inside=request.is_inside)
    middle = -math.pi / 2 if request.is_inside else math.pi / 2
    return ArcBaseline(request.radius_mm, middle_rad=middle, is_inside=request.is_inside)


def _thread_color(name: str, setup: Setup) -> ThreadColor:
    rack = setup.thread.colors
    if name:
        for color in rack:
            if color.name == name:
                return color
        raise InputError(
            _("no thread on the rack is called “{name}”").format(name=name[:60]),
            remedy=_("for one: {names}").format(names=", ".join(c.name for c in rack[:6])),
        )
    cloth = np.array(setup.garment.rgb, dtype=np.int64)
    return max(rack, key=lambda c: (int(((np.array(c.rgb) - cloth) ** 2).sum()), c.name))
