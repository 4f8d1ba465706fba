"""The way in: binds the language, runs a command, and turns each kind of fault into an exit code.

0 done · 1 done, but findings block sewing · 2 usage · 3 bad input · 4 busy or locked · 130 stopped.
"""

from __future__ import annotations

import contextlib
import gettext
import signal
import sys
import threading
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

import click

from firstpiece.cli.root import root
from firstpiece.errors import BusyError, CancelledError, FirstpieceError, InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

EXIT_CODES: tuple[tuple[type[BaseException], int], ...] = (
    (CancelledError, 130),
    (KeyboardInterrupt, 130),
    (click.Abort, 130),
    (BusyError, 4),
    (InputError, 3),
    (FirstpieceError, 4),
)
"""The first class that fits decides."""


@click.command("open", short_help="Open the local page in the browser.")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=0,
    metavar="N",
    help="Port on this computer; without it 8137, or a free one when that is in use.",
)
@click.option("--no-browser", is_flag=True, help="Print the link and open no browser.")
@click.option(
    "--devices",
    is_flag=True,
    help="Let tablets and phones of the shop's own network in, each by a code.",
)
def open_page(port: int, no_browser: bool, devices: bool) -> None:  # noqa: FBT001
    """Serve the local page on this computer until Ctrl-C.

    The page is reachable from this computer only, by the link that is printed; with --devices also
    in the shop's network, not encrypted, by devices that are let in.
    """
    from firstpiece.store.home import home_folder
    from firstpiece.web.app import serve

    # Ctrl-C is the way to close the page, not a fault.
    with contextlib.suppress(KeyboardInterrupt):
        serve(
            port=port,
            open_browser=not no_browser,
            with_devices=devices,
            home=home_folder(),
        )


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit code."""
    gettext.bindtextdomain("firstpiece", Path(__file__).with_name("locale"))
    gettext.textdomain("firstpiece")
    with _remembered_interrupt() as interrupts:
        try:
            return _run(arguments)
        except Exception:
            # Compiled libraries that are interrupted while they load raise faults of their own.
            if not interrupts:
                raise
            click.echo(_sentence(KeyboardInterrupt()), err=True)
            return exit_code(KeyboardInterrupt())


def _run(arguments: list[str] | None) -> int:
    try:
        code = root.main(arguments, prog_name="firstpiece", standalone_mode=False)
    except click.ClickException as fault:
        fault.show()
        return 2
    except (FirstpieceError, KeyboardInterrupt, click.Abort) as fault:
        click.echo(_sentence(fault), err=True)
        return exit_code(fault)
    except SystemExit:
        # click leaves this way when the reader went away (``| head``), which is no fault.
        return 0
    return code if isinstance(code, int) else 0


@contextlib.contextmanager
def _remembered_interrupt() -> Iterator[list[int]]:
    """Give a list that is no longer empty once Ctrl-C was pressed."""
    seen: list[int] = []

    def note(number: int, _frame: object) -> None:
        seen.append(number)
        raise KeyboardInterrupt

    if threading.current_thread() is not threading.main_thread():
        yield seen
        return
    before = signal.signal(signal.SIGINT, note)
    try:
        yield seen
    finally:
        signal.signal(signal.SIGINT, before)


def exit_code(fault: BaseException) -> int:
    """Return the exit code a fault stands for."""
    return next(code for kind, code in EXIT_CODES if isinstance(fault, kind))


def _sentence(fault: BaseException) -> str:
    if isinstance(fault, FirstpieceError) and not isinstance(fault, CancelledError):
        return str(fault)
    return _("Stopped; nothing was written.")


if __name__ == "__main__":
    sys.exit(main())
