"""The day on the page, held against the shop's plan of the day, which has its own tests."""

from __future__ import annotations

import pytest
from tests.shop.shop_floor import FRIDAY, MONDAY, agreed_job, stocked
from tests.web.pictures import pear_png

from firstpiece.shop.day import plan_shop_day


def test_a_day_without_jobs_says_so_and_shows_no_picture(page):
    html = page.get("/day").text
    assert "There is nothing to sew" in html
    assert "day.png" not in html
    assert page.get("/day?start=soon").status_code == 422
    assert page.get("/day/files/night.png").status_code == 404


@pytest.mark.slow
def test_the_day_names_what_is_sewn_what_is_late_and_what_is_missing(page):
    stocked("apron-natural", 30)
    stocked("tee-white", size="M", pack=6)
    soon = agreed_job(pear_png(), ("apron-natural", 12, "", ()), due=FRIDAY)
    late = agreed_job(pear_png(), ("apron-natural", 2, "", ()), due=MONDAY.replace(day=1, month=8),
                      title="Press aprons")  # fmt: skip
    short = agreed_job(pear_png(), ("tee-white", 4, "M", ()), title="Pickers")
    html = page.get(f"/day?start={MONDAY}").text
    assert "2 jobs are to be sewn on Mon\u00a01\u00a0Sep\u00a02031; 1 will be late." in html
    planned = plan_shop_day(MONDAY)
    for slot in planned.plan.heads[0].slots:
        begins = planned.week.moment(MONDAY, slot.begin_min + 1e-6)
        assert f"<b>{begins:%H:%M} to " in html
        minutes = round(slot.end_min - slot.begin_min)
        told = f"{minutes // 60}\u00a0h\u00a0{minutes % 60:02d}\u00a0min" if minutes > 59 else (
            f"{minutes}\u00a0min")  # fmt: skip
        assert f"{told}, due" in html
    named = html[html.index('id="late"') : html.index('id="missing"')]
    assert f'href="/job/{late}"' in named
    assert f'href="/job/{soon}"' not in named
    missing = html[html.index('id="missing"') :]
    assert f'href="/job/{short}"' in missing
    assert "missing: 4 tee-white, white, M, not bought yet." in missing
    # On the weekend before, the same work is told for the first open day.
    weekend = page.get("/day?start=2031-08-30").text
    assert "2 jobs are to be sewn on Mon\u00a01\u00a0Sep\u00a02031" in weekend


@pytest.mark.slow
def test_the_picture_of_the_day_is_a_picture_and_a_sheet(page):
    stocked("apron-natural", 3)
    agreed_job(pear_png(), ("apron-natural", 3, "", ()))
    picture = page.get(f"/day/files/day.png?start={MONDAY}")
    assert (picture.headers["content-type"], picture.content[:4]) == ("image/png", b"\x89PNG")
    sheet = page.get(f"/day/files/day.pdf?start={MONDAY}")
    assert (sheet.headers["content-type"], sheet.content[:5]) == ("application/pdf", b"%PDF-")
