"""A cutter's page with its cuts drawn, and one of them left out, with scripts off."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from app.calc.units import Length
from app.db import Database
from app.models.person import Person
from app.services.cutters import create_cutter
from app.services.write import Write
from app.web.drawing.overcut_chart import ChartCut, ChartSign, ChartTip, OvercutChart, overcut_chart
from tests.services.bench_rows import AT, job_row, live_setting_row, overcut_row
from tests.services.test_crib import cutter_form
from tests.web.bench import send, words
from tests.web.conftest import Cast

SignedIn = Callable[[str], TestClient]
RISING = (1, 1, 2, 1, 2, 4, 6, 8, 10, 12)
TENTH = Length.of(".0001")


@pytest.fixture
def cutter(database: Database, cast: Cast) -> int:
    """A cutter whose last cuts grow."""
    with database.write() as session:
        tx = Write(session, by=session.get_one(Person, cast["Odile"]))
        made = create_cutter(tx, cutter_form(name="Head 2"))
        job = job_row(tx)
        setting = live_setting_row(tx, job, made.id)
        for seq, tenths in enumerate(RISING, 1):
            size = (setting.set_size + TENTH * tenths).inches(4)
            overcut_row(tx, job, setting, size, seq)
        job.ended_at = AT
        return made.id


def test_the_page_says_draws_and_lists_what_the_tip_cut(
    signed_in_as: SignedIn, cutter: int
) -> None:
    page = signed_in_as("machinist").get(f"/crib/cutters/{cutter}")
    assert page.status_code == 200
    told = words(page)
    assert "in a row grow" in told
    assert "Look at the tip" in told
    assert len(re.findall(r'class="mark mark-(?:cut|sign)"><title>', page.text)) == len(RISING)
    assert told.count("leave out cut") == len(RISING)


def test_office_and_crib_send_one_to_the_chart(signed_in_as: SignedIn, cutter: int) -> None:
    odile = signed_in_as("owner")
    for address in ("/office", "/crib"):
        page = odile.get(address)
        assert f"/crib/cutters/{cutter}#overcut-grey_iron" in page.text
        assert "in a row grow" in words(page)


def test_a_cut_is_left_out_with_its_reason(signed_in_as: SignedIn, cutter: int) -> None:
    marek = signed_in_as("machinist")
    text = marek.get(f"/crib/cutters/{cutter}").text
    address = re.findall(r'href="(/crib/cutters/\d+/overcut/\d+/leave-out)"', text)[0]
    assert "Leave cut 10 out of the mean" in words(marek.get(address))
    refused = send(marek, address)
    assert refused.status_code == 422
    assert "Say what was different" in words(refused)
    assert send(marek, address, why="chip").status_code == 303
    page = marek.get(f"/crib/cutters/{cutter}")
    assert "a chip under the gauge" in words(page)
    assert 'class="mark mark-left_out"><title>' in page.text
    assert marek.get(address).status_code == 404


def chart(*tenths: int, signs: tuple[ChartSign, ...] = ()) -> OvercutChart:
    values = [TENTH * each for each in tenths]
    mean = TENTH * 4
    return overcut_chart(
        tips=[
            ChartTip(
                cuts=tuple(
                    ChartCut(value, nth, f"{nth}E", f"cut {nth}")
                    for nth, value in enumerate(values, 1)
                ),
                mean=mean,
                low=mean - TENTH * 3,
                high=mean + TENTH * 3,
                signs=signs,
            )
        ],
        dead_band=TENTH * 2,
        about="Overcut in grey iron",
    )


def test_a_point_stands_as_high_as_its_figure() -> None:
    """Two ticks of the axis give the scale; every mark is read back against them."""
    drawn = chart(3, 5, 4, 2, 4)
    low, high = drawn.ticks[0], drawn.ticks[-1]
    scale = (Length.of(high.text).nm - Length.of(low.text).nm) / (low.y - high.y)
    for point, tenths in zip(drawn.points, (3, 5, 4, 2, 4), strict=True):
        read = Length.of(low.text).nm + (low.y - point.y) * scale
        assert abs(read - (TENTH * tenths).nm) <= scale


def test_a_lone_stray_is_held_at_the_edge_and_marked_so() -> None:
    drawn = chart(3, 4, 3, 4, 3, 90)
    assert [point.off for point in drawn.points] == ["", "", "", "", "", "high"]
    assert "off" in drawn.has


def test_the_picture_is_said_in_words() -> None:
    drawn = chart(3, 5, 4, signs=(ChartSign(0, 2, "3 in a row grow"),))
    assert drawn.name.startswith("Overcut in grey iron: 3 cuts drawn; mean .00040; limits")
    assert "3 in a row grow" in drawn.name
    assert [bracket.words for bracket in drawn.brackets] == ["3 in a row grow"]
