"""The usual cautions at the machine, those that apply to every job and those a garment brings.

Common practice, no source; they defer to local rules and to the machine's own manual.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.paperwork.protective_wear import SewnMark, protective_cautions

if TYPE_CHECKING:
    from firstpiece.model.material import Setup


_NUMBERED = ("hi-vis", "flame-resistant", "waterproof")


def list_cautions(setup: Setup, mark: SewnMark | None = None) -> tuple[str, ...]:
    """Return the cautions for one set-up, the most pressing first.

    ``mark`` adds the lines with numbers for protective and children's wear.
    """
    lines = list(protective_cautions(setup.garment.cautions, mark)) if mark else []
    lines += [
        _("Keep hands clear of moving needles; switch the machine off before changing one."),
        _("Wear eye protection: a needle that strikes metal breaks and flies."),
        _("Trace the design's box with the needle up before the first stitch."),
    ]
    if setup.fabric.needs_topping:
        lines.append(_("Lay a film on top so that stitches do not sink; remove it before use."))
    by_code = {
        "skin-side": _("Cover the back with a soft sheet: it touches the skin."),
        "children": _(
            "Children's wear: no cords or small parts at the neck; mind the rules on flammability."
        ),
        "certified": _(
            "Stitching may void the protection of this certified garment: ask the certifier first."
        ),
    }
    lines += [by_code[code] for code in setup.garment.cautions if code in by_code]
    if not {"certified", *_NUMBERED} & {c.rstrip("-123") for c in setup.garment.cautions}:
        lines.append(
            _(
                "If the blank is flame-resistant, high-visibility, waterproof or otherwise "
                "certified, stitching may void it: ask the certifier."
            )
        )
    lines.append(_("Spray adhesive: only with good ventilation, away from flames and the machine."))
    return tuple(lines)


def deferring_line() -> str:
    """Return the sentence that puts local rules and the manual first."""
    return _("Local rules and the machine's own manual come before this sheet.")


def topping_text(setup: Setup) -> str:
    """Return what is laid on top of the cloth."""
    return _("water-soluble film") if setup.fabric.needs_topping else _("none")
