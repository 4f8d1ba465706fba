"""``firstpiece backup`` and ``firstpiece restore``: the whole shop in one file, and back."""

from __future__ import annotations

from dataclasses import asdict
from gettext import gettext as _
from gettext import ngettext
from pathlib import Path
from typing import TYPE_CHECKING

import click

from firstpiece.cli.answers import json_option, open_console, print_json

if TYPE_CHECKING:
    from firstpiece.store.backup import Manifest


@click.command("backup", short_help="Write the whole shop into one checked file.")
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE",
              help="File or folder; without it the shop's own folder of backups.")  # fmt: skip
@click.option("--list", "only_list", is_flag=True, help="List the backups there are instead.")
@json_option
def backup(*, out: Path | None, only_list: bool, as_json: bool) -> None:
    """Write customers, jobs, logs and pictures into one file, while work goes on.

    The copy is checked before it counts as made. Keep one on another disk.
    """
    from firstpiece.shop.backup_book import back_up, list_backups

    if only_list:
        paths = list_backups(out)
        if as_json:
            print_json("backups", {"files": [str(path) for path in paths]})
        for path in paths if not as_json else ():
            open_console().print(str(path), markup=False, soft_wrap=True)
        return
    saved = back_up(out)
    if as_json:
        content = {"file": str(saved.path), "n_bytes": saved.n_bytes}
        print_json("backup", {**content, "manifest": asdict(saved.manifest)})
        return
    console = open_console()
    console.print(str(saved.path), markup=False, soft_wrap=True)
    console.print(_holds(saved.manifest), markup=False)
    if saved.manifest.missing:
        text = _("{n} pictures were missing in the store.").format(n=len(saved.manifest.missing))
        console.print(text, markup=False)


@click.command("restore", short_help="Go back to a backup, or check that one could.")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--check", is_flag=True, help="Only try it out on a copy; the shop stays as it is.")
@click.option("--yes", is_flag=True, help="Do not ask.")
@json_option
def restore(*, file: Path, check: bool, yes: bool, as_json: bool) -> None:
    """Replace the shop's store by the backup in FILE.

    The backup is tried out on a copy first and the store as it is now is backed up, so nothing is
    lost by a mistake.
    """
    from firstpiece.shop import backup_book

    if check:
        checked, before = backup_book.try_backup(file), None
    else:
        if not yes:
            click.confirm(_("Replace the shop's store by this backup?"), abort=True, err=True)
        done = backup_book.restore(file)
        checked, before = done.checked, done.before
    if as_json:
        print_json("restore", {
            "checked_only": check,
            "manifest": asdict(checked.manifest),
            "erased_again": list(checked.erased),
            "before": str(before) if before else None,
        })  # fmt: skip
        return
    console = open_console()
    console.print(_("Good. ") + _holds(checked.manifest), markup=False)
    if before is not None:
        text = _("Restored. What was there before is in {path}").format(path=before)
        console.print(text, markup=False, soft_wrap=True)


def _holds(manifest: Manifest) -> str:
    counts = (
        ngettext("{n} customer", "{n} customers", manifest.n_customers).format(
            n=manifest.n_customers
        ),
        ngettext("{n} job", "{n} jobs", manifest.n_jobs).format(n=manifest.n_jobs),
        ngettext("{n} log entry", "{n} log entries", manifest.n_log).format(n=manifest.n_log),
        ngettext("{n} picture", "{n} pictures", manifest.n_pictures).format(n=manifest.n_pictures),
    )
    return _("It holds {counts}.").format(counts=", ".join(counts))
