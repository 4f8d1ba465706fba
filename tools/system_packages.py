"""Install the Debian packages that tests need, when their programs are missing.

``python tools/system_packages.py chromium poppler-utils`` does nothing when the programs are there.
It needs apt and the right to use it; elsewhere it says what to install by hand.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

PROGRAMS = {
    "chromium": ("chromium",),
    "poppler-utils": ("pdftoppm", "pdffonts"),
    "postgresql": ("initdb", "postgres"),
    "nodejs": ("node",),
    "npm": ("npm",),
}

ASIDE = "usr/lib/postgresql/*/bin"
"""Where Debian keeps a server's programs, off the path, one folder a version."""


def find_program(name: str, *, root: Path = Path("/")) -> str | None:
    """Return where a program is, on the path or, the newest version first, aside from it."""
    folders = sorted(root.glob(ASIDE), key=lambda folder: -int(folder.parent.name))
    places = [shutil.which(name), *(shutil.which(name, path=str(f)) for f in folders)]
    return next((place for place in places if place), None)


def missing(packages: list[str]) -> list[str]:
    """Return the packages one of whose programs is not found."""
    return [p for p in packages if not all(find_program(x) for x in PROGRAMS[p])]


def main() -> int:
    """Install what is missing; 1 when that cannot be done here."""
    if unknown := [p for p in sys.argv[1:] if p not in PROGRAMS]:
        sys.stderr.write(f"usage: system_packages.py [{'|'.join(PROGRAMS)}]…; not {unknown[0]}\n")
        return 2
    wanted = missing(sys.argv[1:])
    if not wanted:
        return 0
    names = " ".join(wanted)
    if shutil.which("apt-get") is None:
        sys.stderr.write(f"The tests need these programs; please install: {names}\n")
        return 1
    prefix = [] if os.geteuid() == 0 else ["sudo", "-n"]
    environ = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    sys.stderr.write(f"Installing for the tests: {names}\n")
    for step in (["update", "-qq"], ["install", "-y", "-qq", "--no-install-recommends", *wanted]):
        done = subprocess.run([*prefix, "apt-get", *step], env=environ, stdout=subprocess.DEVNULL)
        if done.returncode:
            sys.stderr.write(f"apt-get could not install them; please install by hand: {names}\n")
            return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
