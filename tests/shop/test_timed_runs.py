"""Timed runs written, sewn by a machine that is known, and fitted back to its card."""

from __future__ import annotations

import json

import pytest

from firstpiece.errors import InputError
from firstpiece.files.machine_card import put_machine
from firstpiece.files.material_card import CardDrawer
from firstpiece.files.stitch_table import read_stitch_csv
from firstpiece.forecasting.sewing_time import forecast_minutes
from firstpiece.model.measured import Certainty
from firstpiece.model.stitch import Action
from firstpiece.shop.cards import open_cards
from firstpiece.shop.timed_runs import (
    keep_machine,
    time_machine,
    timed_plan,
    write_timed_runs,
)


def seconds_of(machine):
    """What a stopwatch would show on a machine that keeps this card's law."""
    return {
        name: 60.0 * forecast_minutes(timed_plan(name), machine).band.p50
        for name in ("long", "trims", "changes", "check")
    }


def own_machine(**values):
    from dataclasses import replace

    card = CardDrawer().machine()
    return replace(card, **{
        name: replace(getattr(card, name), value=v, low=v, high=v) for name, v in values.items()
    })  # fmt: skip


def test_the_designs_are_what_they_say(tmp_path):
    counts = {name: timed_plan(name) for name in ("long", "trims", "changes", "check")}
    assert counts["long"].n_stitches == 3000
    assert counts["trims"].count(Action.TRIM) == 30
    assert counts["changes"].count(Action.COLOR_CHANGE) == 8
    longest = CardDrawer().machine().longest_stitch_mm
    written = write_timed_runs(tmp_path)
    assert len(written) == 8
    for name, plan in counts.items():
        csv, threads = ((tmp_path / name / f).read_text() for f in ("stitches.csv", "threads.json"))
        assert read_stitch_csv(csv, threads).n_stitches == plan.n_stitches
        steps = plan.xy_mm[plan.sewn_segments()] - plan.xy_mm[plan.sewn_segments() - 1]
        assert (steps**2).sum(axis=1).max() ** 0.5 < longest


def test_a_known_machine_is_found_again_and_foretold(fresh_home):
    known = own_machine(speed_constant=1700.0, trim=4.5, color_change=12.0)
    timed = time_machine(seconds_of(known))
    assert timed.after.speed_constant.value == pytest.approx(1700.0, rel=0.01)
    assert timed.after.trim.value == pytest.approx(4.5, abs=0.1)
    assert timed.after.color_change.value == pytest.approx(12.0, abs=0.3)
    assert abs(timed.miss) < 0.01
    assert timed.after.trim.certainty is Certainty.CALIBRATED
    file = keep_machine(timed)
    kept = open_cards().machine(timed.after.name)
    assert kept.speed_constant.value == pytest.approx(timed.after.speed_constant.value, rel=1e-5)
    assert kept.trim.certainty is Certainty.CALIBRATED
    keep_machine(timed)
    assert file.read_text().count(f"[{timed.after.name}]") == 1


def test_other_cards_of_the_file_stay(fresh_home):
    other = '# ours\n[side-arm]\nlabel = "Side arm"\nneedles = 6\n'
    text = put_machine(other, CardDrawer().machine())
    assert text.startswith(other.strip())
    assert put_machine(text, CardDrawer().machine()) == text


def test_runs_that_are_missing_or_tell_nothing_are_refused(fresh_home):
    with pytest.raises(InputError, match="trims"):
        time_machine({"long": 300.0, "changes": 200.0})


def test_from_the_command_line(fresh_home, tmp_path):
    from click.testing import CliRunner

    from firstpiece.cli.fit_commands import fit

    runner = CliRunner()
    assert runner.invoke(fit, ["runs", "--out", str(tmp_path / "t")]).exit_code == 0
    took = seconds_of(own_machine(speed_constant=1900.0))
    arguments = [f"--{name}={value:.1f}" for name, value in took.items()]
    answer = runner.invoke(fit, ["machine", *arguments, "--keep", "--json"])
    assert answer.exit_code == 0, answer.output
    told = json.loads(answer.output)
    assert told["numbers"]["speed_constant"]["value"] == pytest.approx(1900.0, rel=0.01)
    text = runner.invoke(fit, ["machine", *arguments[:3]])
    assert "nothing tests" in text.output
