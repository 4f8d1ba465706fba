"""Record layouts: faults by line, exact round trips, damaged files."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpiece.errors import LayoutError
from firstpiece.files.record_layout import layout_faults, read_layout
from firstpiece.files.record_program import write_program
from firstpiece.files.record_reading import read_program
from firstpiece.model.material import ThreadColor
from firstpiece.model.stitch import Action, StitchPlan

FOLDER = Path(__file__).parent / "layouts"
LAYOUTS = {p.stem: p.read_text("utf-8") for p in sorted(FOLDER.glob("*.toml"))}
THREADS = tuple(ThreadColor(f"shade {i}", (i, i, i), 26.7) for i in range(3))


def plan_of(rows: list[tuple[float, float, Action]]) -> StitchPlan:
    action = np.array([a for *_, a in rows] + [Action.END], dtype=np.uint8)
    xy = np.array([(x, y) for x, y, _ in rows] + [rows[-1][:2] if rows else (0.0, 0.0)])
    return StitchPlan(
        xy_mm=xy.reshape(-1, 2),
        action=action,
        thread=np.minimum(np.cumsum(action == Action.COLOR_CHANGE), 2).astype(np.int16),
        region_id=np.full(len(action), -1, dtype=np.int32),
        role=np.zeros(len(action), dtype=np.uint8),
        threads=THREADS,
    )


def in_steps(plan: StitchPlan, step_mm: float) -> np.ndarray:
    return np.rint(plan.xy_mm / step_mm).astype(int)


@st.composite
def plans(draw):
    n = draw(st.integers(0, 30))
    place = st.integers(-300, 300)
    rows, xy = [], (0.0, 0.0)
    changes = 0
    for _ in range(n):
        action = draw(st.sampled_from(list(Action)[:5]))
        changes += action == Action.COLOR_CHANGE
        if action == Action.COLOR_CHANGE and changes > 2:
            action = Action.STOP
        if action in (Action.STITCH, Action.JUMP):
            xy = (draw(place) / 10, draw(place) / 10)
        rows.append((*xy, action))
    return plan_of(rows)


def assert_same_sewing(found: StitchPlan, plan: StitchPlan, step_mm: float) -> None:
    """The rows are the same once the jumps that splitting added are merged."""
    keep = found.action != Action.JUMP
    want = plan.action != Action.JUMP
    assert found.action[keep].tolist() == plan.action[want].tolist()
    assert in_steps(found, step_mm)[keep].tolist() == in_steps(plan, step_mm)[want].tolist()
    assert found.thread[keep].tolist() == plan.thread[want].tolist()


@pytest.mark.parametrize("name", sorted(LAYOUTS))
@settings(max_examples=60, deadline=None)
@given(plan=plans())
def test_round_trip(name, plan):
    layout = read_layout(LAYOUTS[name], name=name)
    data = write_program(plan, layout, name="apron 90")
    assert_same_sewing(read_program(data, layout, threads=THREADS), plan, layout.step_mm)
    assert data == write_program(plan, layout, name="apron 90")


NUMBER_FORMS = ["two's complement", "one's complement", "sign and size", "offset", "weights"]


@st.composite
def layouts(draw):
    """A random layout: shuffled bits, any number form, any directions, bytes or nibbles, moves or
    places, commands of several cells, header and footer fields. Escapes have a test below."""
    form = draw(st.sampled_from(NUMBER_FORMS))
    n_bits = draw(st.integers(5, 10))
    absolute = draw(st.booleans())
    cell = draw(st.sampled_from([4, 8]))
    if absolute:
        form, n_bits = draw(st.sampled_from(NUMBER_FORMS[:4])), 14
    size = cell * -(-(2 * n_bits + 3) // cell)
    letters = "x" * n_bits + "y" * n_bits + "-" * (size - 3 - 2 * n_bits)
    shuffled = "".join(draw(st.permutations(letters)))
    weights = [(-1) ** i * 3 ** (i // 2) for i in range(n_bits)]
    how = str(weights) if form == "weights" else f'"{form}"'
    words = ["stitch", "jump", "trim", "color_change", "stop", "end"]
    parts = [
        "[layout]",
        f"step_mm = {draw(st.sampled_from([0.05, 0.1, 0.25]))}",
        f'x = "{draw(st.sampled_from(["left", "right"]))}"',
        f'y = "{draw(st.sampled_from(["up", "down"]))}"',
        f'moves = "{"absolute" if absolute else "relative"}"',
        f'cells = "{"bytes" if cell == 8 else "nibbles"}"',
    ]
    for code, word in enumerate(draw(st.permutations(words))):
        carries = word in ("stitch", "jump")
        tail = shuffled if carries else "-" * (cell * draw(st.integers(1, 2)) - 3)
        parts += ["[[record]]", f'action = "{word}"', f'pattern = "{code:03b}{tail}"']
        if carries:
            parts += [f"x = {how}", f"y = {how}"]
    parts += draw(header_fields())
    parts += draw(footer_fields())
    return "\n".join(parts)


VALUES = ["name", "plan", "stitches", "records", "threads", "color_changes", "trims", "left",
          "right", "bottom", "top", "width", "height", "record_bytes", "file_bytes"]  # fmt: skip


@st.composite
def header_fields(draw):
    """Text, bytes, computed values padded on either side or as integers, filled up to an offset."""
    lines = []
    for _ in range(draw(st.integers(0, 3))):
        value = draw(st.sampled_from(VALUES))
        integer = draw(st.booleans()) and value not in ("name", "plan")
        look = (
            f'form = "integer"\nbytes = {draw(st.sampled_from([4, 8]))}\n'
            f'order = "{draw(st.sampled_from(["little", "big"]))}"'
            if integer
            else f'form = "text"\nbytes = 16\npad = "{draw(st.sampled_from(["0", " ", "_"]))}"\n'
            f'side = "{draw(st.sampled_from(["left", "right"]))}"'
        )
        kinds = ['text = "AB"', 'hex = "0d 00 ff"', f'value = "{value}"\n{look}']
        lines += ["[[header]]", draw(st.sampled_from(kinds))]
    if draw(st.booleans()):
        lines += ["[[header]]", 'fill = "2e"', "to = 64"]
    return lines


@st.composite
def footer_fields(draw):
    """Each checksum over records or everything before, in either order of bytes."""
    lines = []
    for _ in range(draw(st.integers(0, 2))):
        kind, n_bytes = draw(
            st.sampled_from([("sum", 1), ("sum", 3), ("xor", 1), ("crc16", 2), ("crc32", 4)])
        )
        lines += [
            "[[footer]]",
            f'checksum = "{kind}"',
            f"bytes = {n_bytes}",
            f'order = "{draw(st.sampled_from(["little", "big"]))}"',
            f'over = "{draw(st.sampled_from(["records", "before"]))}"',
        ]
    return lines


@settings(max_examples=1000, deadline=None)
@given(text=layouts(), plan=plans())
def test_round_trip_of_random_layouts(text, plan):
    layout = read_layout(text)
    data = write_program(plan, layout)
    assert_same_sewing(read_program(data, layout, threads=THREADS), plan, layout.step_mm)


def test_header_is_computed_and_padded():
    plan = plan_of([(1.0, 0.0, Action.STITCH), (1.0, 2.0, Action.STITCH)])
    data = write_program(plan, read_layout(LAYOUTS["pair"]), name="apron")
    assert data[:24] == b"PIECEapron       0000002"
    assert int.from_bytes(data[24:26], "little") == 0
    assert data[28:64] == b" " * 36
    # 10 steps right: x = 0001010; up is down on this machine: y = -20.
    assert data[64:68] == bytes([0b00010100, 0, 0, 236])
    assert data[68:70] == b"\xff\xff"
    assert data[70] == 0b00010100 ^ 236


def test_long_stitch_becomes_jumps_and_one_stitch():
    plan = plan_of([(30.0, 0.0, Action.STITCH)])
    layout = read_layout(LAYOUTS["pair"])
    found = read_program(write_program(plan, layout), layout)
    assert found.count(Action.STITCH) == 1
    assert found.count(Action.JUMP) >= 1
    assert found.xy_mm[found.is_stitch].tolist() == [[30.0, 0.0]]


def break_line(name: str, old: str, new: str) -> str:
    assert old in LAYOUTS[name]
    return LAYOUTS[name].replace(old, new, 1)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("step_mm = ", "not valid TOML"),
        ("x = 1", "no \\[layout\\]"),
        ("[layout]\nstep_mm = 0", "line 2: step_mm"),
        ("[layout]\nstep_mm = 0.1", "no \\[\\[record\\]\\] has action"),
        ("[layout]\nstep_mm = 0.1\ncells = 'words'", "line 3: “words” is neither bytes nor nib"),
        (break_line("pair", '"xxxxxxx0 yyyyyyyy"', '"xxxxxxx0 yyyyyyy"'), "line 30: 15 bits"),
        (break_line("pair", '"xxxxxxx0 yyyyyyyy"', '"xxxxxxx0 --------"'), "both x and y"),
        (break_line("pair", '"00000011 00000000"', '"00000001 00000000"'), "line 35: .* line 31"),
        (break_line("pair", 'action = "stop"', 'action = "nap"'), "“nap” is not an action"),
        (break_line("pair", "to = 64", "to = 8"), "line 26: 28 bytes stand before a filling"),
        (break_line("pair", 'value = "width"', 'value = "weight"'),
         "line 17: “weight” is not a value"),
        (break_line("pair", "bytes = 12", "bytes = 0"), "line 11: bytes must be a whole number"),
        (break_line("pair", 'order = "big"', 'order = "odd"'), "line 23: “odd” is not known"),
        (break_line("weights", "27]", "27, 5]"), "line 9: 8 weights are given for 7 bits"),
        (break_line("weights", "[1, -1, 3, -3, 9, -9, 27]", "[2, -2, 4, -4, 6, -6, 8]"),
         "one step"),
    ],
)  # fmt: skip
def test_faults_are_told_by_line(text, words):
    def use() -> None:
        write_program(plan_of([]), read_layout(text))

    with pytest.raises(LayoutError, match=words):
        use()


def test_all_faults_are_told_at_once():
    text = break_line("pair", "bytes = 12", "bytes = 0").replace('"stop"', '"nap"')
    told = [str(fault) for fault in layout_faults(text, name="ours")]
    assert len(told) == 2
    assert "line 11" in told[0]
    assert "“nap”" in told[1]
    assert layout_faults(LAYOUTS["pair"]) == ()


ESCAPES = """
[layout]
step_mm = 0.1
[[record]]
action = "stitch"
pattern = "xxxxxxxx yyyyyyyy"
[[record]]
escape = true
action = "jump"
pattern = "10000000 xxxxxxxx xxxxxxxx yyyyyyyy yyyyyyyy"
note = "-128 in x never is a move of its own"
[[record]]
escape = true
action = "trim"
pattern = "01111111 00000000 01111111 00000000 01111111 00000000"
[[record]]
escape = true
action = "end"
pattern = "01111110 11111111"
"""


@settings(max_examples=200, deadline=None)
@given(plan=plans())
def test_codes_that_escape_are_never_written_as_moves(plan):
    """Long moves behind a byte that no move may have; a trim made of three records."""
    keep = np.isin(plan.action, [Action.STITCH, Action.JUMP, Action.TRIM, Action.END])
    plan = StitchPlan(plan.xy_mm[keep], plan.action[keep], np.zeros(keep.sum(), np.int16),
        plan.region_id[keep], plan.role[keep], THREADS[:1])  # fmt: skip
    layout = read_layout(ESCAPES)
    stitch = layout.forms_for(Action.STITCH)[0]
    # Hand count: -128 escapes to a jump, 127 with no y begins a trim, 126 with -1 ends.
    assert set(stitch.clashes) == {(("x", -128),), (("x", 127), ("y", 0)), (("x", 126), ("y", -1))}
    assert stitch.reach == 125
    found = read_program(write_program(plan, layout), layout, threads=THREADS[:1])
    assert_same_sewing(found, plan, layout.step_mm)


def test_nibbles_are_packed_two_to_a_byte():
    """Twelve bits a record, by hand: 0x0 +3 -2 → 0 3 e; the odd nibble at the end stands by 0."""
    layout = read_layout("""
        [layout]
        step_mm = 0.1
        cells = "nibbles"
        [[record]]
        action = "stitch"
        pattern = "0000 xxxx yyyy"
        [[record]]
        action = "jump"
        pattern = "0001 xxxxxxxx yyyyyyyy"
        [[record]]
        action = "end"
        pattern = "1111"
    """)
    plan = plan_of([(0.3, -0.2, Action.STITCH), (0.2, -0.1, Action.STITCH)])
    assert write_program(plan, layout).hex() == "03e0f1f0"
    back = read_program(bytes.fromhex("03e0f1f0"), layout)
    assert in_steps(back, 0.1).tolist() == [[3, -2], [2, -1], [2, -1]]


def test_odd_nibbles_need_an_end():
    text = "[layout]\nstep_mm = 0.1\ncells = 'nibbles'\n[[record]]\naction = 'stitch'\n"
    with pytest.raises(LayoutError, match="need an end record"):
        read_layout(text + "pattern = '0000 xxxx yyyy'")


def test_plan_that_needs_a_missing_record():
    text = "[layout]\nstep_mm = 0.1\n[[record]]\naction = 'stitch'\npattern = 'xxxxxxxx yyyyyyyy'"
    with pytest.raises(LayoutError, match="needs “end”"):
        write_program(plan_of([(1, 1, Action.STITCH)]), read_layout(text))


def test_value_that_does_not_fit_its_field():
    text = break_line("pair", "bytes = 7\n", "bytes = 1\n")
    plan = plan_of([(i / 10, 0.0, Action.STITCH) for i in range(12)])
    with pytest.raises(LayoutError, match="stitches is 12, which does not fit 1 bytes"):
        write_program(plan, read_layout(text))


GOOD = write_program(
    plan_of([(1.0, 0.0, Action.STITCH), (1.0, 2.0, Action.TRIM)]), read_layout(LAYOUTS["pair"])
)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "byte 0: the file has 0 bytes"),
        (GOOD[:-3] + GOOD[-1:], "breaks off"),
        (b"X" + GOOD[1:], "byte 0: these bytes are not"),
        (GOOD[:-1] + b"\x00", "checksum is wrong"),
        (GOOD[:64] + b"\x09" + GOOD[65:], "byte 64: no record of the layout begins with 09"),
    ],
)
def test_damaged_programs_are_told_by_byte(data, words):
    with pytest.raises(LayoutError, match=words):
        read_program(data, read_layout(LAYOUTS["pair"]))


@settings(max_examples=300, deadline=None)
@given(tail=st.binary(max_size=80), name=st.sampled_from(sorted(LAYOUTS)))
def test_any_bytes_are_read_or_refused_in_words(tail, name):
    layout = read_layout(LAYOUTS[name])
    said = ""
    try:
        plan = read_program(GOOD[:64] + tail if name == "pair" else tail, layout)
        assert len(plan.xy_mm) <= len(tail) + 1
    except LayoutError as fault:
        said = str(fault)
    assert not said or "byte" in said


ODD_VALUES = st.sampled_from(
    ["[]", "{}", "-1", "0", "1e9", "nan", "true", "'x'", "''", "[1, 'a']", "[[1]]", "2020-01-01",
     "'" + "x" * 600 + "'", "99999999999999999999", '"\\u0000"']
)  # fmt: skip


@settings(max_examples=300, deadline=None)
@given(name=st.sampled_from(sorted(LAYOUTS)), line=st.integers(0, 60), value=ODD_VALUES)
def test_any_value_anywhere_is_used_or_refused_in_words(name, line, value):
    """Each entry of a layout is given values that its author never meant."""
    lines = LAYOUTS[name].splitlines()
    at = line % len(lines)
    lines[at] = lines[at].split("=")[0] + f"= {value}" if "=" in lines[at] else lines[at] + value
    said = ""
    try:
        layout = read_layout("\n".join(lines))
        write_program(plan_of([(1.0, 0.0, Action.STITCH)]), layout)
    except LayoutError as fault:
        said = str(fault)
    assert said == "" or said.endswith(".")
