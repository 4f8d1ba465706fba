"""A plan made from what is already known is the plan made anew."""

from firstpiece.files.material_card import CardDrawer
from firstpiece.files.picture import read_artwork
from firstpiece.model.frozen import content_hash
from firstpiece.model.memo import Memo
from firstpiece.model.stitch import StitchSpec, StitchType
from firstpiece.planning.stage import plan_stitches
from firstpiece.shop.demo_picture import draw_demo_picture
from firstpiece.tracing.stage import trace_artwork


def test_edits_replan_only_what_they_change():
    setup = CardDrawer().setup("tee-black")
    art = read_artwork(draw_demo_picture(), name="emblem")
    design = trace_artwork(art, height_mm=80.0, rack=setup.thread.colors)
    memo = Memo()
    first = plan_stitches(design, setup=setup, memo=memo)
    made = memo.n_made
    widest = max(first.treatments, key=lambda t: t.n_stitches).region_id
    for spec in (
        StitchSpec(row_spacing_mm=0.5),
        StitchSpec(stitch_type=StitchType.FILL, angle_rad=0.3),
        StitchSpec(order=0),
    ):
        before = memo.n_made
        again = plan_stitches(design, setup=setup, specs={widest: spec}, memo=memo)
        anew = plan_stitches(design, setup=setup, specs={widest: spec})
        assert content_hash(again) == content_hash(anew)
        assert memo.n_made - before < made
    assert content_hash(plan_stitches(design, setup=setup, memo=memo)) == content_hash(first)
