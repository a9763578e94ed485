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


def test_signs_words_do_not_cover_one_another() -> None:
    told = ("6 in a row grow", "cut 6 beyond a limit", "9 in a row over the mean")
    drawn = chart(*range(1, 11), signs=tuple(ChartSign(3, 5, each) for each in told))
    assert len({bracket.y for bracket in drawn.brackets}) == len(told)
    assert all(bracket.y < drawn.top for bracket in drawn.brackets)


def test_a_cut_left_out_is_hollow_and_neighbours_are_joined_past_it() -> None:
    mean = TENTH * 3
    cuts = tuple(
        ChartCut(TENTH * tenths, nth, "1E", "")
        for tenths, nth in ((3, 1), (9, None), (3, 2), (4, 3))
    )
    drawn = overcut_chart(
        tips=[ChartTip(cuts=cuts, mean=mean, low=None, high=None)], dead_band=TENTH * 2
    )
    assert [point.shape for point in drawn.points] == ["cut", "left_out", "cut", "cut"]
    joined = [(line.x1, line.x2) for line in drawn.joins]
    assert joined == [
        (drawn.points[0].x, drawn.points[2].x),
        (drawn.points[2].x, drawn.points[3].x),
    ]
    assert "1 left out" in drawn.name


def test_tips_in_turn_have_levels_of_their_own_and_a_line_where_one_was_changed() -> None:
    def tip(tenths: int, change: str) -> ChartTip:
        value = TENTH * tenths
        cuts = tuple(ChartCut(value, nth, "1E", "") for nth in range(1, 6))
        return ChartTip(cuts=cuts, mean=value, low=value, high=value, change=change)

    drawn = overcut_chart(
        tips=[tip(2, ""), tip(6, "tip changed: ground")], dead_band=TENTH * 2, unit="mm"
    )
    means = [level.line for level in drawn.levels if level.kind == "mean"]
    assert means[0].y1 > means[1].y1
    assert means[0].x2 == means[1].x1
    assert [change.text for change in drawn.changes] == ["tip changed: ground"]
    # No line joins the last cut of one tip with the first of the next.
    assert len(drawn.joins) == 8
    assert all("." in tick.text and len(tick.text) >= 4 for tick in drawn.ticks)


def test_a_lone_cut_and_a_tip_without_scatter_are_drawn() -> None:
    for tenths in ((3,), (3, 3, 3), (0, 0)):
        drawn = overcut_chart(
            tips=[
                ChartTip(
                    cuts=tuple(
                        ChartCut(TENTH * each, nth, "1E", "") for nth, each in enumerate(tenths, 1)
                    ),
                    mean=None,
                    low=None,
                    high=None,
                )
            ],
            dead_band=Length(0),
        )
        assert len(drawn.points) == len(tenths)
        assert all(drawn.top <= point.y <= drawn.bottom for point in drawn.points)


def test_of_two_hundred_cuts_the_last_fifty_are_drawn_and_all_of_them_count(
    signed_in_as: SignedIn, database: Database, cast: Cast
) -> None:
    with database.write() as session:
        tx = Write(session, by=session.get_one(Person, cast["Odile"]))
        made = create_cutter(tx, cutter_form(name="Head 2"))
        job = job_row(tx)
        setting = live_setting_row(tx, job, made.id)
        for seq in range(200):
            size = (setting.set_size + TENTH * (2 + seq % 3)).inches(4)
            overcut_row(tx, job, setting, size, seq)
    page = signed_in_as("machinist").get(f"/crib/cutters/{made.id}")
    told = words(page)
    assert "The last 50 of 200 are drawn and listed; mean and limits are of all." in told
    assert len(re.findall(r'class="mark mark-cut"><title>', page.text)) == 50
    assert "As far as 200 cuts can tell, they scatter by chance." in told
    assert "tip changed" not in told


def test_older_tips_are_folded_and_teach_nothing(
    signed_in_as: SignedIn, database: Database, cutter: int
) -> None:
    marek = signed_in_as("machinist")
    assert send(marek, f"/crib/cutters/{cutter}/tip", what="ground").status_code == 303
    page = marek.get(f"/crib/cutters/{cutter}")
    told = words(page)
    assert "No signed bore with the tip that is in it now." in told
    assert "Older tips: 1" in told
    assert "they teach a new setting nothing any more" in told
    assert "leave out" not in told
    assert "in a row grow" not in words(signed_in_as("owner").get("/office"))
