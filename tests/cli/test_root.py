"""The root command: quick to start, and its table agrees with the commands."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import click
import pytest

from firstpiece.cli.root import COMMANDS, root
from firstpiece.errors import (
    BusyError,
    CancelledError,
    CardError,
    FirstpieceError,
    LengthError,
    OutputError,
    PictureError,
)

PROGRAM = Path(sys.executable).with_name("firstpiece")
HEAVY = ("numpy", "scipy", "numba", "shapely", "cv2", "skimage", "PIL", "rich", "sqlalchemy",
         "fastapi", "reportlab", "babel", "distributed")  # fmt: skip


def test_help_loads_nothing_heavy():
    code = (
        "import sys; from firstpiece.__main__ import main; main(['--help']); "
        f"print([m for m in {HEAVY} if m in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"
    assert "prepare" in done.stdout


@pytest.mark.parametrize("name", COMMANDS)
def test_the_table_agrees_with_the_command(name):
    home, words = COMMANDS[name]
    module, attribute = home.split(":")
    command = getattr(import_module(module), attribute)
    assert command.name == name
    assert command.short_help == words
    assert words.endswith(".")


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help(run, name):
    answer = run(name, "--help")
    assert answer.code == 0
    assert answer.out.startswith(f"Usage: firstpiece {name}")


def every_command(group=root, path=()):
    """Yield (words, command) of every command that is not itself a group of commands."""
    for name in group.list_commands(click.Context(group)):
        command = group.get_command(click.Context(group), name)
        if isinstance(command, click.Group):
            yield from every_command(command, (*path, name))
        else:
            yield (*path, name), command


EVERY = {" ".join(path): command for path, command in every_command()}


@pytest.mark.parametrize("words", [w for w in EVERY if w != "open"])
def test_every_command_answers_json_on_request(words):
    assert "--json" in {opt for p in EVERY[words].params for opt in p.opts}


@pytest.mark.parametrize("words", EVERY)
def test_every_command_is_called_as_its_table_says(words):
    assert EVERY[words].name == words.split()[-1]
    assert EVERY[words].short_help.endswith(".")


@pytest.mark.parametrize(
    "arguments",
    [["sew"], ["--frob"], ["prepare"], ["cards", "hats"], ["prepare", "a.png", "--frob"],
     ["prepare", "a.png", "--colors", "many"], ["open", "--port", "99999"]],
)  # fmt: skip
def test_a_wrong_use_is_told_and_ends_with_2(run, arguments):
    answer = run(*arguments)
    assert answer.code == 2
    assert answer.err.startswith("Usage: firstpiece")
    assert not answer.out


@pytest.mark.parametrize(
    ("fault", "code"),
    [
        (PictureError("x"), 3),
        (LengthError("x"), 3),
        (CardError("x"), 3),
        (OutputError("x"), 3),
        (BusyError("x"), 4),
        (FirstpieceError("x"), 4),
        (CancelledError("x"), 130),
        (KeyboardInterrupt(), 130),
    ],
)
def test_each_kind_of_fault_has_its_exit_code(run, monkeypatch, fault, code):
    # DESIGN: 0 done, 1 findings block, 2 usage, 3 bad input, 4 busy or locked, 130 cancelled.
    def fail(kind):
        raise fault

    monkeypatch.setattr("firstpiece.shop.cards.list_cards", fail)
    answer = run("cards")
    assert answer.code == code
    assert len(answer.err.strip().splitlines()) == 1
    assert not answer.out


def test_a_fault_of_the_program_is_not_dressed_up(run, monkeypatch):
    def fail(kind):
        raise ZeroDivisionError

    monkeypatch.setattr("firstpiece.shop.cards.list_cards", fail)
    with pytest.raises(ZeroDivisionError):
        run("cards")


def test_ctrl_c_while_a_library_loads_is_still_a_stop(run, monkeypatch):
    # What numpy's C parts do when they are interrupted in the middle of their import.
    def fail(kind):
        try:
            signal.raise_signal(signal.SIGINT)
        except KeyboardInterrupt:
            msg = "numpy._core.multiarray failed to import"
            raise ImportError(msg) from None

    monkeypatch.setattr("firstpiece.shop.cards.list_cards", fail)
    answer = run("cards")
    assert (answer.code, answer.err) == (130, "Stopped; nothing was written.\n")


def test_a_reader_that_leaves_early_is_no_fault():
    # A pipe whose reading end is closed, as after ``| head -1``.
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [PROGRAM, "cards"], stdout=writer, stderr=subprocess.PIPE, text=True, check=False
    )
    os.close(writer)
    assert done.returncode == 0
    assert "Traceback" not in done.stderr
