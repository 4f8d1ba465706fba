"""The bidirectional algorithm against the worked lines of Unicode Standard Annex 9.

The annex writes right-to-left letters as capitals; here they are Hebrew letters with the same
order. Source: UAX 9, section 3.4 "Reordering resolved levels" and the rules' examples (from memory
of the text; the order follows from the rules named beside each line).
"""

import pytest

from firstpiece.model.text_direction import (
    has_right_to_left,
    is_right_to_left,
    visual_runs,
)

HEBREW = {chr(ord("A") + i): chr(0x5D0 + i) for i in range(26)}


def logical(text):
    return "".join(HEBREW.get(c, c) for c in text)


def visual(text, **options):
    """The line as it stands on paper from left to right, back in capitals."""
    back = {v: k for k, v in HEBREW.items()}
    shown = "".join(
        run.text[::-1] if run.is_right_to_left else run.text
        for run in visual_runs(logical(text), **options)
    )
    return "".join(back.get(c, c) for c in shown)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        # L2: reversed runs inside a left-to-right line; the full stop takes the line's direction.
        ("car means CAR.", "car means RAC."),
        # P2, P3: the first strong letter sets the line; numbers keep their order (W7, I1, I2).
        ("CAR MEANS car.", ".car SNAEM RAC"),
        ("IT IS 123, 456, OK", "KO ,456 ,123 SI TI"),
        # W4: a single separator between two numbers belongs to them; W5: so does the percent sign.
        ("A 1,5 B", "B 1,5 A"),
        ("A 50% B", "B 50% A"),
        # N1: a blank between two right-to-left words goes with them.
        ("x AB CD y", "x DC BA y"),
        # L1: blanks at the end of the line stay at its end.
        ("AB ", " BA"),
    ],
)
def test_lines_of_the_annex(text, shown):
    assert visual(text) == shown


def test_the_paragraph_may_be_told():
    assert visual("12 AB", right_to_left=True) == "BA 12"
    assert visual("12 AB", right_to_left=False) == "12 BA"


def test_arabic_numbers_follow_arabic_letters():
    """W2: European digits after an Arabic letter become Arabic numbers, read left to right."""
    runs = visual_runs("سلام 12")
    assert [r.text for r in runs] == ["12", "سلام "]


def test_left_to_right_text_is_one_run():
    assert not has_right_to_left("plain 12 mm")
    assert not is_right_to_left("12")
    (run,) = visual_runs("plain 12 mm.")
    assert run.text == "plain 12 mm."
    assert visual_runs("") == ()
