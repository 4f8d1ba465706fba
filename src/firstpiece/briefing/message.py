"""The message to the customer: every open question with its letter and its answers, ready to paste.

Input: lettered questions. Output: plain text, no markup, so that it survives any chat or mail.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from firstpiece.model.question import Question
    from firstpiece.model.region import RegionMap


def write_message(questions: tuple[Question, ...], *, region_map: RegionMap) -> str:
    """Return the message; what no picture can tell is asked at its end."""
    parts = [_("Thank you for your picture.")]
    if questions:
        parts.append(
            _(
                "Before we sew it, please tell us about the places marked with letters."
                " Where you say nothing, we take the first answer."
            )
        )
        parts.extend(_paragraph(question) for question in questions)
    else:
        parts.append(_("It is clear to us which areas are thread and which are cloth."))
    parts.append(_closing(region_map))
    return "\n\n".join(parts) + "\n"


def _paragraph(question: Question) -> str:
    answers = (f"   {n}) {choice.label}" for n, choice in enumerate(question.choices, start=1))
    return "\n".join([f"{question.letter}. {question.text}", *answers])


def _closing(region_map: RegionMap) -> str:
    lines = [
        _("Please also tell us:"),
        _("– the finished size; we assumed {height} mm high and {width} mm wide").format(
            height=f"{region_map.height_mm:.0f}", width=f"{region_map.width_mm:.0f}"
        ),
        _("– which garments, how many of each colour and size"),
        _("– where on the garment it goes"),
        _("– the day you need them"),
    ]
    return "\n".join(lines)
