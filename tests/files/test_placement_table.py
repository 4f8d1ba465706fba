"""The placement table written and read again is the same, whatever its words are."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpiece.errors import CardError
from firstpiece.files.placement_table import own_placements, read_placements, write_placements
from firstpiece.model.measured import Measured
from firstpiece.model.placement import Placement

words = st.text(st.characters(blacklist_categories=("Cs",)), min_size=1, max_size=30)
numbers = st.floats(0, 2000, allow_nan=False).map(lambda v: Measured(v, v, v, "mm", "own"))
sizes = st.dictionaries(words, numbers, min_size=1, max_size=3)
placements = st.builds(Placement, words, words, words, words, sizes, st.just({}) | sizes)


@given(st.lists(placements, max_size=4, unique_by=lambda p: (p.kind, p.place)))
def test_what_is_written_is_read_again(tmp_path_factory, found):
    folder = tmp_path_factory.mktemp("cards")
    (folder / "placements.toml").write_text(write_placements(found), "utf-8")
    read = {(p.kind, p.place): p for p in own_placements(folder)}
    assert read == {(p.kind, p.place): p for p in found}


def test_the_shipped_table_survives_and_its_usual_places_stay_first(tmp_path):
    shipped = read_placements().placements
    text = write_placements(reversed(shipped))
    assert tomllib.loads(text)["tee"]["left-chest"]["down"]["M"]["value"] == 190
    (tmp_path / "placements.toml").write_text(text, "utf-8")
    assert read_placements(tmp_path).placements == shipped


def test_a_broken_table_is_told(tmp_path):
    (tmp_path / "placements.toml").write_text("[tee", "utf-8")
    with pytest.raises(CardError, match="not valid TOML"):
        own_placements(tmp_path)
