"""A picture in several hoopings and as ganged patches: whole jobs and their files."""

import json

import pytest

from firstpiece.errors import InputError
from firstpiece.files.stitch_table import read_stitch_csv
from firstpiece.shop.hoopings import gang_design, hoop_design, write_hoopings
from firstpiece.shop.prepare import PrepareRequest

ART = b"""<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 300 100">
<rect x="0" y="0" width="90" height="100" fill="#b3161f"/>
<rect x="105" y="0" width="90" height="100" fill="#2f7335"/>
<rect x="210" y="0" width="90" height="100" fill="#b3161f"/></svg>"""


def request(height):
    return PrepareRequest(data=ART, name="row.svg", height_mm=height)


def test_a_wide_row_is_sewn_in_hoopings_with_their_files(tmp_path):
    hooped = hoop_design(request(100.0), "square-240")
    assert len(hooped.hoopings) == 2
    files = {f.name: f for f in write_hoopings(hooped, tmp_path)}
    told = json.loads(files["hoopings.json"].read_text("utf-8"))
    assert [h["follows"] for h in told["hoopings"]] == [0, 1]
    assert "crosses" in told["hoopings"][1]["sentence"]
    for n, plan in enumerate(hooped.plans, start=1):
        read = read_stitch_csv(
            files[f"hooping-{n}-stitches.csv"].read_text("utf-8"),
            files[f"hooping-{n}-threads.json"].read_text("utf-8"),
        )
        assert read.content_id() == plan.content_id()


def test_patches_are_one_job():
    prepared, n = gang_design(request(20.0), "square-240", border="navy", n_pieces=2)
    assert n == 2
    assert "navy" in {t.name for t in prepared.plan.threads}
    assert not prepared.blocks_sewing


def test_an_unknown_border_is_refused():
    with pytest.raises(InputError, match="no such"):
        gang_design(request(20.0), border="no such")
