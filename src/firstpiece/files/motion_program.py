"""Stitch plans as motion programs in the words of ISO 6983-1, out and back in.

G00 and G01 move, M00 stops, M06 with T changes the thread, M30 ends; the shop chooses the M words
for one needle cycle and for a trim, absolute or incremental positions, millimetres or inches.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from gettext import gettext as _

import numpy as np

from firstpiece.errors import InputError
from firstpiece.model.material import ThreadColor
from firstpiece.model.stitch import Action, StitchPlan
from firstpiece.units import MM_PER_INCH

MOST_LINE = 1000
MOST_THREADS = 1000
USUAL_TEX = 26.7
"""Linear density where a program does not tell it: the commonest thread's."""


@dataclass(frozen=True, slots=True)
class MotionWords:
    """How a shop's controller wants its program.

    Parameters
    ----------
    needle_word, trim_word : int
        M words for one needle cycle and for a trim; the standard leaves them to the maker.
    change_word, stop_word : int
        M words for a change of thread (written with T) and for a stop.
    is_incremental : bool
        True writes moves (G91), False positions (G90).
    is_inch : bool
        True writes inches (G20), False millimetres (G21).
    has_numbers : bool
        True begins every block with its number N.
    """

    needle_word: int = 20
    trim_word: int = 21
    is_incremental: bool = False
    is_inch: bool = False
    has_numbers: bool = True
    change_word: int = 6
    stop_word: int = 0

    def __post_init__(self) -> None:
        words = (self.needle_word, self.trim_word, self.change_word, self.stop_word)
        if len(set(words)) < len(words) or {2, 30} & set(words):
            raise InputError(
                _("the M words for needle, trim, change and stop must differ, and not be 2 or 30"),
                remedy=_("choose free ones from the machine's manual"),
            )
        if not all(0 <= word <= 999 for word in words):
            raise InputError(
                _("an M word is a number from 0 to 999"),
                remedy=_("choose free ones from the machine's manual"),
            )

    @property
    def unit_mm(self) -> float:
        """Size of the last digit that is written [mm]."""
        return 0.0001 * MM_PER_INCH if self.is_inch else 0.01

    @property
    def digits(self) -> int:
        """Decimals written."""
        return 4 if self.is_inch else 2


def write_motion_program(
    plan: StitchPlan, words: MotionWords | None = None, *, comments: tuple[str, ...] = ()
) -> str:
    """Return the program; the same plan gives the same bytes.

    Parameters
    ----------
    plan : StitchPlan
    words : MotionWords or None
    comments : tuple of str
        Put in brackets at the head; brackets and line ends inside them are taken out.

    References
    ----------
    ISO 6983-1:2009, Data format for positioning, line motion and contouring control systems.
    """
    words = words or MotionWords()
    head = [f"({_plain(c)})" for c in comments]
    head += [f"(T{i} {_plain(t.name)} {t.hex})" for i, t in enumerate(plan.threads)]
    head.append(f"{'G20' if words.is_inch else 'G21'} {'G91' if words.is_incremental else 'G90'}")
    head += [f"T0 M{words.change_word:02d}"] if plan.threads else []
    body = _blocks(plan, words)
    if words.has_numbers:
        first = sum(not line.startswith("(") for line in head)
        head = _number(head)
        body = [f"N{i} {line}" for i, line in enumerate(body, start=first + 1)]
    return "%\n" + "\n".join(head + body) + "\n%\n"


def _plain(text: str) -> str:
    return re.sub(r"[()%\r\n]", " ", text)[: MOST_LINE // 2]


def _number(lines: list[str]) -> list[str]:
    number, out = 0, []
    for line in lines:
        if not line.startswith("("):
            number += 1
        out.append(line if line.startswith("(") else f"N{number} {line}")
    return out


def _blocks(plan: StitchPlan, words: MotionWords) -> list[str]:
    """Return one block per row of the plan."""
    scale = 1 / MM_PER_INCH if words.is_inch else 1.0
    # Round positions, not moves: rounding must not add up along the way.
    units = np.rint(plan.xy_mm * scale * 10**words.digits)
    if words.is_incremental:
        units = np.diff(units, axis=0, prepend=np.zeros((1, 2)))
    numbers = units / 10**words.digits + 0.0
    thread = np.where(plan.action == Action.COLOR_CHANGE, plan.thread, 0)
    endings = {
        Action.STITCH: f"M{words.needle_word:02d}",
        Action.JUMP: "",
        Action.TRIM: f"M{words.trim_word:02d}",
        Action.STOP: f"M{words.stop_word:02d}",
        Action.END: "M30",
    }
    table = [
        [
            endings.get(action, f"T{t} M{words.change_word:02d}")
            for t in range(max(len(plan.threads), 1))
        ]
        for action in Action
    ]
    moves = np.where(plan.action == Action.STITCH, "G01", "G00").tolist()
    d = words.digits
    return [
        f"{g} X{x:.{d}f} Y{y:.{d}f} {table[a][t]}".rstrip()
        for g, (x, y), a, t in zip(
            moves, numbers.tolist(), plan.action.tolist(), thread.tolist(), strict=True
        )
    ]


_THREAD = re.compile(r"^\(T(\d{1,4}) ([^()]{0,500}?) #([0-9a-f]{6})\)$", re.MULTILINE)
_WORD = re.compile(r"([A-Z])\s*([+-]?(?:\d+\.?\d*|\.\d+))")


@dataclass
class _State:
    """What stays in force from block to block."""

    x: float = 0.0
    y: float = 0.0
    thread: int = 0
    is_incremental: bool = False
    unit_mm: float = 1.0


def read_motion_program(
    text: str, words: MotionWords | None = None, *, threads: tuple[ThreadColor, ...] = ()
) -> StitchPlan:
    """Return the plan of a program.

    Reads blocks with or without numbers, comments, ``%`` and words left out because they stay in
    force. Colours that ``threads`` lacks are taken from the comments that the writer puts at the
    head, else made up grey.

    Raises
    ------
    InputError
        With the line: a word that is not understood, or no M30 or M02 at the end.
    """
    words = words or MotionWords()
    actions = {
        words.needle_word: Action.STITCH, words.trim_word: Action.TRIM,
        words.stop_word: Action.STOP, words.change_word: Action.COLOR_CHANGE,
        2: Action.END, 30: Action.END,
    }  # fmt: skip
    state = _State()
    rows: list[tuple[float, float, Action, int]] = []
    ended = False
    for number, line in enumerate(text.splitlines(), start=1):
        block = re.sub(r"\([^)]*\)", " ", line).strip().upper()
        if not block or block.startswith(("%", "/")):
            continue
        if ended:
            raise _fault(number, _("something follows the end of the program"))
        action = _read_block(block, number, state, actions)
        if action is Action.COLOR_CHANGE and not rows:
            continue
        if action is not None:
            rows.append((state.x, state.y, action, state.thread))
        ended = action is Action.END
    if not ended:
        raise _fault(number if text else 1, _("the program has no end (M30)"))
    return _plan(rows, threads or _commented_threads(text))


def _commented_threads(text: str) -> tuple[ThreadColor, ...]:
    """Return the threads told in comments like ``(T0 chalk #fafafa)``, as far as they count on."""
    threads: list[ThreadColor] = []
    for number, name, code in _THREAD.findall(text):
        if int(number) != len(threads) or len(threads) >= MOST_THREADS:
            break
        red, green, blue = bytes.fromhex(code)
        threads.append(ThreadColor(name.strip(), (red, green, blue), USUAL_TEX))
    return tuple(threads)


def _read_block(block: str, line: int, state: _State, actions: dict[int, Action]) -> Action | None:
    """Take one block into the state; return what it does, or None when it only sets something."""
    if len(block) > MOST_LINE or _WORD.sub("", block).strip():
        raise _fault(line, _("“{text}” is not made of words like X1.5").format(text=block[:40]))
    moved, action = False, None
    place = {"X": 0.0, "Y": 0.0} if state.is_incremental else {}
    for letter, digits in _WORD.findall(block):
        value = float(digits)
        if letter == "G":
            _set_mode(int(value), line, state)
        elif letter == "M":
            if int(value) not in actions:
                raise _fault(line, _("M{n} is not a word of this shop").format(n=int(value)))
            action = actions[int(value)]
        elif letter == "T":
            if not 0 <= value < MOST_THREADS:
                raise _fault(line, _("T{n} is not a thread").format(n=digits))
            state.thread = int(value)
        elif letter in "XY":
            place[letter] = value
            moved = True
        elif letter not in "NFS":
            raise _fault(line, _("address {letter} is not used here").format(letter=letter))
    _move(state, place, moved=moved)
    return action if action is not None else (Action.JUMP if moved else None)


def _set_mode(code: int, line: int, state: _State) -> None:
    if code in (90, 91):
        state.is_incremental = code == 91
    elif code in (20, 21):
        state.unit_mm = MM_PER_INCH if code == 20 else 1.0
    elif code not in (0, 1):
        raise _fault(line, _("G{n:02d} is not used here").format(n=code))


def _move(state: _State, place: dict[str, float], *, moved: bool) -> None:
    if not moved:
        return
    if state.is_incremental:
        state.x += place["X"] * state.unit_mm
        state.y += place["Y"] * state.unit_mm
        return
    state.x = place["X"] * state.unit_mm if "X" in place else state.x
    state.y = place["Y"] * state.unit_mm if "Y" in place else state.y


def _plan(
    rows: list[tuple[float, float, Action, int]], threads: tuple[ThreadColor, ...]
) -> StitchPlan:
    n_threads = max((t for *_rest, t in rows), default=0) + 1
    made_up = tuple(
        ThreadColor(f"thread {i + 1}", (128, 128, 128), USUAL_TEX)
        for i in range(len(threads), n_threads)
    )
    return StitchPlan(
        xy_mm=np.array([(x, y) for x, y, *_rest in rows], dtype=np.float64).reshape(-1, 2),
        action=np.array([a for *_rest, a, _t in rows], dtype=np.uint8),
        thread=np.array([t for *_rest, t in rows], dtype=np.int16),
        region_id=np.full(len(rows), -1, dtype=np.int32),
        role=np.zeros(len(rows), dtype=np.uint8),
        threads=threads + made_up,
    )


def _fault(line: int, what: str) -> InputError:
    where = _("motion program, line {line}").format(line=line)
    return InputError(what, where=where, remedy=_("mend the line"))
