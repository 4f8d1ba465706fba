"""Text to glyphs: the shaping library joins, kerns and orders; right-to-left runs are put in place.

In: one line of text and a font. Out: clusters from left to right, each the glyphs of a letter (or
ligature, or letter with its accents) that move as one, in font units.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from gettext import gettext as _
from itertools import pairwise
from typing import TYPE_CHECKING

import uharfbuzz

from firstpiece.errors import InputError
from firstpiece.model.text_direction import visual_runs

if TYPE_CHECKING:
    from firstpiece.lettering.font_file import FontFile

MOST_SIGNS = 400


@dataclass(frozen=True, slots=True)
class Cluster:
    """Glyphs that belong together.

    ``glyphs`` holds (glyph, x, y) with the place relative to the cluster's own pen; ``advance`` is
    how far the pen moves on, kerning included. All in font units.
    """

    text: str
    glyphs: tuple[tuple[int, float, float], ...]
    advance: float

    @property
    def is_space(self) -> bool:
        """True when it only separates words."""
        return self.text.isspace()


def shape_text(text: str, font: FontFile, *, ligatures: bool) -> tuple[Cluster, ...]:
    """Return the clusters of a line from left to right.

    Parameters
    ----------
    text : str
        One line as typed.
    font : FontFile
    ligatures : bool
        False leaves out those a language does not need, as is done when letters are spaced out.

    Raises
    ------
    InputError
        When the text is empty, too long, has a line break, or a character the font lacks.
    """
    line = check_text(text, font)
    clusters: list[Cluster] = []
    for run in visual_runs(line):
        clusters += _shape_run(run.text, font, rtl=run.is_right_to_left, ligatures=ligatures)
    return tuple(clusters)


def check_text(text: str, font: FontFile) -> str:
    """Return the line without blanks at its ends, or refuse it."""
    line = unicodedata.normalize("NFC", text).strip()
    if not line:
        raise InputError(_("there is no text to set"), remedy=_("type at least one letter"))
    if len(line) > MOST_SIGNS:
        raise InputError(
            _("the text has {n} characters").format(n=len(line)),
            remedy=_("set at most {most} on one line").format(most=MOST_SIGNS),
        )
    # Joiners and direction marks are said by nobody and seen by nobody, but shaping needs them.
    hidden = [s for s in line if unicodedata.category(s) in {"Cc", "Zl", "Zp", "Cs", "Cn"}]
    if hidden:
        raise InputError(
            _("the text holds a line break or control character"),
            remedy=_("set one line at a time"),
        )
    lacking = sorted({s for s in line if not _is_set(s, font)})
    if lacking:
        raise InputError(
            _("the font has no “{signs}”").format(signs="".join(lacking[:10])),
            remedy=_("choose a font that has it, or other words"),
        )
    return line


def _is_set(sign: str, font: FontFile) -> bool:
    """Whether a character is in the font, or can be put together, or needs no glyph."""
    if sign.isspace() or unicodedata.category(sign) == "Cf" or font.has(sign):
        return True
    apart = unicodedata.normalize("NFD", sign)
    return len(apart) > 1 and all(font.has(s) for s in apart)


def _shape_run(text: str, font: FontFile, *, rtl: bool, ligatures: bool) -> list[Cluster]:
    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if rtl else "ltr"
    # CSS Text 3, 8.2: optional ligatures are left out where letters are spaced.
    features = {} if ligatures else {"liga": False, "clig": False}
    uharfbuzz.shape(font.shaper, buffer, features)
    starts = [*sorted({info.cluster for info in buffer.glyph_infos}), len(text)]
    ends = dict(pairwise(starts))
    clusters: list[Cluster] = []
    pen, glyphs, last = 0.0, [], None
    for info, place in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        if last is not None and info.cluster != last:
            clusters.append(Cluster(text[last : ends[last]], tuple(glyphs), pen))
            pen, glyphs = 0.0, []
        last = info.cluster
        glyphs.append((int(info.codepoint), pen + place.x_offset, float(place.y_offset)))
        pen += place.x_advance
    if last is not None:
        clusters.append(Cluster(text[last : ends[last]], tuple(glyphs), pen))
    return clusters
