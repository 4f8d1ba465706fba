"""Tasks that the runner tests send to workers; workers import this file by its path."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path
from typing import Any

import numpy as np

from firstpiece.errors import PictureError

LONG_S = 30.0
"""How long a task that nobody stops would run."""


def walk(context: Any, request: tuple[int, int]) -> np.ndarray:
    """A random walk from a seed: any difference between processes would show."""
    seed, n_steps = request
    rng = np.random.default_rng(seed)
    steps = []
    for i in range(n_steps):
        context.check()
        steps.append(rng.normal(size=64))
        context.report((i + 1) / n_steps, f"step {i + 1}")
    return np.cumsum(steps, axis=0)


def sleep_until_cancelled(context: Any, marker: str) -> None:
    Path(marker).touch()
    for _ in range(1000):
        context.check()
        context.report(0.5, "asleep")
        time.sleep(0.01)


def refuse(context: Any, name: str) -> None:
    msg = "the picture is empty"
    raise PictureError(msg, where=name, remedy="send another")


def break_down(context: Any, request: None) -> None:
    msg = "a fault of the program"
    raise ZeroDivisionError(msg)


def die_once(context: Any, marker: str) -> str:
    if not Path(marker).exists():
        Path(marker).touch()
        os._exit(3)
    return "second time"


def die_always(context: Any, request: None) -> None:
    os._exit(3)


def walk_slowly(context: Any, n_steps: int) -> None:
    for i in range(n_steps):
        context.check()
        context.report((i + 1) / n_steps, f"step {i + 1}")
        time.sleep(0.12)


def never_look_up(context: Any, marker: str) -> None:
    """A task that reports and checks nothing for a long while."""
    Path(marker).touch()
    deadline = time.monotonic() + LONG_S
    while time.monotonic() < deadline:
        sum(range(1000))


def interrupt_self(context: Any, marker: str) -> str:
    """What a worker gets when Ctrl-C is pressed on the terminal it shares."""
    signal.raise_signal(signal.SIGINT)
    return "went on"
