"""Make the project's environment in ``.venv`` with nothing but the standard library.

``python tools/bootstrap.py run`` installs what the programs need, ``dev`` adds what the tests and
checks need. The locked, hashed lists in ``requirements/`` are the only source of versions. A stamp
written last makes a repeat instant and an interrupted install start over.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENV = ROOT / ".venv"
BIN = ENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
OLDEST_PYTHON = (3, 11)


def fingerprint(lock: Path) -> str:
    """Return a hash of all that decides what is installed."""
    digest = hashlib.sha256(sys.version.encode())
    for path in (lock, ROOT / "pyproject.toml"):
        digest.update(path.read_bytes())
    return digest.hexdigest()


def make_environment() -> None:
    """Create ``.venv``; fall back to a private virtualenv where the venv module is cut out."""
    try:
        venv.create(ENV, with_pip=True, clear=True)
    except (subprocess.CalledProcessError, ImportError, SystemExit):
        tools = ROOT / ".tools"
        shutil.rmtree(ENV, ignore_errors=True)
        pip = [sys.executable, "-m", "pip", "install", "-q", "--target", str(tools), "virtualenv"]
        subprocess.run(pip, check=True)
        path = os.pathsep.join(p for p in (str(tools), os.environ.get("PYTHONPATH", "")) if p)
        subprocess.run(
            [sys.executable, "-m", "virtualenv", "-q", str(ENV)],
            check=True,
            env={**os.environ, "PYTHONPATH": path},
        )


def install(lock: Path) -> None:
    """Install the locked packages and the project itself, nothing else."""
    uv = shutil.which("uv")
    environ = {**os.environ, "VIRTUAL_ENV": str(ENV)}
    if uv:
        packages = [uv, "pip", "install", "-q", "--compile-bytecode", "--require-hashes"]
        project = [uv, "pip", "install", "-q", "--no-deps", "--no-build-isolation", "-e", "."]
    else:
        pip = [str(PYTHON), "-m", "pip", "--disable-pip-version-check", "install", "-q"]
        packages = [*pip, "--require-hashes"]
        project = [*pip, "--no-deps", "--no-build-isolation", "-e", "."]
    subprocess.run([*packages, "-r", str(lock)], check=True, cwd=ROOT, env=environ)
    subprocess.run(project, check=True, cwd=ROOT, env=environ)


def main() -> int:
    """Bring ``.venv`` up to the wanted list (``run`` or ``dev``); say what is being done."""
    wanted = sys.argv[1] if len(sys.argv) > 1 else "run"
    if wanted not in ("run", "dev"):
        sys.stderr.write("usage: bootstrap.py [run|dev]\n")
        return 2
    if sys.version_info < OLDEST_PYTHON:
        found = ".".join(map(str, sys.version_info[:2]))
        sys.stderr.write(f"Firstpiece needs Python 3.11 or newer; this one is {found}.\n")
        return 2
    stamps = {name: ENV / f".stamp-{name}" for name in ("run", "dev")}
    locks = {name: ROOT / "requirements" / f"{name}.txt" for name in ("run", "dev")}
    for name in (wanted, "dev"):
        stamp = stamps[name]
        if PYTHON.exists() and stamp.exists() and stamp.read_text() == fingerprint(locks[name]):
            return 0
    sys.stderr.write(f"Setting up .venv ({wanted}); about half a minute the first time.\n")
    if not PYTHON.exists():
        make_environment()
    install(locks[wanted])
    subprocess.run([str(PYTHON), str(ROOT / "tools" / "warm_kernels.py")], check=False, cwd=ROOT)
    stamps[wanted].write_text(fingerprint(locks[wanted]))
    return 0


if __name__ == "__main__":
    sys.exit(main())
