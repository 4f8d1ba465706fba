"""The command line's page lists every command, every option and every exit code, and no others."""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest

from firstpiece.__main__ import EXIT_CODES
from firstpiece.cli.root import COMMANDS, root

PAGE = (Path(__file__).parents[2] / "docs" / "command-line.md").read_text("utf-8")
SECTIONS = dict(re.findall(r"^## (\w+)\n(.*?)(?=^## |\Z)", PAGE, re.MULTILINE | re.DOTALL))


def test_the_page_has_the_commands_in_the_order_of_help():
    assert list(SECTIONS) == list(COMMANDS)


def find_command(name):
    return root.get_command(click.Context(root), name)


SINGLE = [n for n in COMMANDS if not isinstance(find_command(n), click.Group)]
GROUPS = [n for n in COMMANDS if n not in SINGLE]


@pytest.mark.parametrize("name", GROUPS)
def test_every_command_of_a_group_has_a_row_with_its_options(name):
    """All take ``--json`` and some ``--seen``, which the text before the table tells."""
    text, _head, table = SECTIONS[name].partition("| command |")
    rows = dict(re.findall(rf"^\| `{name} ([a-z-]+)(.*)$", table, re.MULTILINE))
    group = find_command(name)
    names = group.list_commands(click.Context(group))
    assert list(rows) == names
    for sub in names:
        command = group.get_command(click.Context(group), sub)
        told = re.findall(r"`(--[a-z-]+)", rows[sub])
        real = [p.opts[0] for p in command.params if isinstance(p, click.Option)]
        in_text = {o for o in real if o in ("--json", "--seen") and f"`{o}" in text}
        assert sorted(told) == sorted(set(real) - in_text), sub
        for argument in (p for p in command.params if isinstance(p, click.Argument)):
            assert argument.name.upper() in rows[sub], sub


@pytest.mark.parametrize("name", SINGLE)
def test_every_option_is_told_and_no_other(name):
    command = find_command(name)
    told = re.findall(r"^\| `(--[a-z-]+)", SECTIONS[name], re.MULTILINE)
    real = [p.opts[0] for p in command.params if isinstance(p, click.Option)]
    assert sorted(told) == sorted(real)
    for argument in (p for p in command.params if isinstance(p, click.Argument)):
        assert argument.name.upper() in SECTIONS[name]


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_has_help_of_its_own(name):
    command = root.get_command(click.Context(root), name)
    for option in (p for p in command.params if isinstance(p, click.Option)):
        assert option.help, option.name
        assert option.help.endswith(".")


def test_every_exit_code_is_told():
    told = {int(code) for code in re.findall(r"^\| (\d+) \|", PAGE, re.MULTILINE)}
    assert told == {0, 1, 2, *(code for _kind, code in EXIT_CODES)}


def test_every_file_of_a_job_is_told():
    from firstpiece.cli.job_text import FILE_WORDS

    for name in FILE_WORDS:
        if name != "windfall-row.jpg":
            assert f"`{name}`" in PAGE, name
