"""The options that say what the words of a motion program are."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Callable

    from firstpiece.files.motion_program import MotionWords

NAMES = ("needle_word", "trim_word", "change_word", "stop_word")


def word_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options for the M words of a motion program."""
    told = (
        ("--needle-word", 20, "M word for one needle cycle; 20 unless given."),
        ("--trim-word", 21, "M word for a trim; 21 unless given."),
        ("--change-word", 6, "M word for a change of thread; 6 unless given."),
        ("--stop-word", 0, "M word for a stop; 0 unless given."),
    )
    for name, usual, text in reversed(told):
        command = click.option(name, type=int, default=usual, metavar="N", help=text)(command)
    return command


def motion_words(options: dict[str, Any]) -> MotionWords:
    """Return the words of the options, and manner where the command has options for it."""
    from firstpiece.files.motion_program import MotionWords

    return MotionWords(
        **{name: options[name] for name in NAMES},
        is_incremental=options.get("incremental", False),
        is_inch=options.get("inch", False),
        has_numbers=not options.get("no_numbers", False),
    )
