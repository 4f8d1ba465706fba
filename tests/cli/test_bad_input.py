"""Bad input gets one clear sentence and its exit code, and nothing half-written is left."""

from __future__ import annotations

import pytest

BAD_PICTURES = ("not-a-picture.png", "empty.png", "cut-off.png", "bomb.png", "one-color.png",
                "transparent.png", "photo.png", "entity-bomb.svg", "missing.png", ".")  # fmt: skip


def sentence(answer) -> str:
    """Return the one sentence on stderr."""
    lines = answer.err.splitlines()
    assert len(lines) == 1, answer.err
    assert lines[0].endswith(".")
    assert not answer.out
    return lines[0]


@pytest.mark.parametrize("name", BAD_PICTURES)
@pytest.mark.parametrize("command", [("prepare", "--height", "60mm"), ("ask",),
                                     ("ladder", "--heights", "60mm")])  # fmt: skip
def test_a_bad_picture_is_bad_input(run, pictures, tmp_path, name, command):
    out = tmp_path / "out"
    verb, *options = command
    answer = run(verb, pictures / name, *options, "--out", out)
    assert answer.code == 3
    said = sentence(answer)
    assert name in said
    assert "; " in said, "the sentence says what to do"
    assert not out.exists()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--height", "0mm"], "0 mm high cannot be sewn; choose a height from 5 mm to 1000 mm."),
        (["--height", "-3mm"], "--height: “-3mm” is not a length; write it like"),
        (["--height", "9000m"], "cannot be sewn; choose a height"),
        (["--height", "90"], "--height: “90” has no unit"),
        (["--height", "tall"], "--height: “tall” is not a length"),
        (["--height", "3 parsecs"], "“parsecs” is not a unit of length"),
        ([], "--height: the height is missing; add --height 90mm"),
        (["--height", "60mm", "--on", "toga"], "there is no card “toga” among the garments; use"),
        (["--height", "60mm", "--thread", "wire"], "there is no card “wire” among the threads"),
        (["--height", "60mm", "--quantity", "0"], "0 is not a number of pieces"),
        (["--height", "60mm", "--quantity", "-4"], "-4 is not a number of pieces"),
        (["--height", "60mm", "--colors", "0"], "--colors: the number of colours must be 1 to 32"),
        (["--height", "60mm", "--colors", "99"], "--colors: the number of colours must be 1 to"),
        (["--height", "60mm", "--bare", "blurple"], "--bare: “blurple” is not a colour; write"),
        (["--height", "60mm", "--smooth", "lots"], "--smooth: “lots” is not a length"),
    ],
)
def test_a_bad_option_of_prepare_is_bad_input(run, pictures, tmp_path, options, words):
    out = tmp_path / "out"
    answer = run("prepare", pictures / "badge.png", *options, "--out", out)
    assert answer.code == 3
    assert words in sentence(answer)
    assert not out.exists()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--heights", "3in,0in"], "0 mm high cannot be sewn"),
        (["--heights", "3in,wide"], "--heights: “wide” is not a length"),
        (["--heights", ","], "at least one height and one quantity"),
        (["--quantities", "1,a dozen"], "--quantities: “1,a dozen” is not a list of whole numbers"),
        (["--quantities", "1,0"], "0 is not a number of pieces"),
        (["--on", "toga"], "there is no card “toga”"),
    ],
)
def test_a_bad_option_of_ladder_is_bad_input(run, pictures, options, words):
    answer = run("ladder", pictures / "badge.png", *options)
    assert answer.code == 3
    assert words in sentence(answer)


@pytest.mark.parametrize("place", ["file/out", "/proc/none"])
@pytest.mark.parametrize("command", ["prepare", "ladder", "ask", "demo"])
def test_a_folder_that_cannot_be_written_to_is_told_before_the_work(
    run, pictures, tmp_path, monkeypatch, place, command
):
    def never(*_args, **_kwargs):
        msg = "the work began"
        raise AssertionError(msg)

    monkeypatch.setattr("firstpiece.shop.prepare.read_artwork", never)
    monkeypatch.setattr("firstpiece.shop.demo.price_ladder", never)
    monkeypatch.setattr("firstpiece.shop.ladder.price_ladder", never)
    (tmp_path / "file").write_text("in the way")
    arguments = [] if command == "demo" else [pictures / "badge.png"]
    if command == "prepare":
        arguments += ["--height", "60mm"]
    answer = run(command, *arguments, "--out", tmp_path / place)
    assert answer.code == 3
    assert "the folder cannot be written to" in sentence(answer)


def test_the_shops_own_bad_card_is_told_with_its_place(run, pictures, tmp_path, monkeypatch):
    cards = tmp_path / "home" / "cards"
    cards.mkdir(parents=True)
    (cards / "garments.toml").write_text("[cape]\nlabel = ")
    monkeypatch.setenv("FIRSTPIECE_HOME", str(tmp_path / "home"))
    answer = run("prepare", pictures / "badge.png", "--height", "60mm")
    assert answer.code == 3
    assert "garments.toml: the card file is not valid TOML" in sentence(answer)
