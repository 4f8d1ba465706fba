"""How a command answers: one JSON object or set text on stdout, progress on stderr.

The bar shows on a terminal only; colour follows ``NO_COLOR`` (rich reads it).
"""

from __future__ import annotations

import json
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from rich.console import Console

JSON_VERSION = 1

json_option = click.option(
    "--json", "as_json", is_flag=True, help="Answer with one versioned JSON object on stdout."
)


def print_json(kind: str, content: dict[str, Any]) -> None:
    """Write one versioned object to stdout."""
    answer = {"version": JSON_VERSION, "kind": kind, **content}
    click.echo(json.dumps(answer, ensure_ascii=False, indent=2))


def open_console() -> Console:
    """Return a console on stdout; 100 columns wide when the output is not a terminal."""
    from rich.console import Console

    width = None if sys.stdout.isatty() else 100
    return Console(width=width, highlight=False, soft_wrap=False)


@contextmanager
def progress_bar() -> Iterator[Callable[[float, str], None]]:
    """Give a ``report(fraction, words)`` that draws a bar on a terminal and is silent elsewhere."""
    if not sys.stderr.isatty():
        yield lambda _fraction, _words: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (BarColumn(bar_width=32), TextColumn("{task.description}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("", total=1.0)

        def report(fraction: float, words: str) -> None:
            progress.update(task, completed=fraction, description=words)

        yield report
