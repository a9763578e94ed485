"""Heats: one for all rings of a head, over, and cold before anything is measured or cut."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlmodel import Session, select

from app.db import Database
from app.models.heat import HeatPort
from app.models.port_pass import RingIn
from app.models.ring import Ring, RingSet
from app.queries.customer_records import customer_record
from app.queries.sheets import letterhead
from app.services.cuts import open_cut
from app.services.write import Refused
from app.workflow.gates import open_points
from app.worksheets.facts import load_sheet
from app.worksheets.heats import heats_apart, heats_of, warm_rings, warm_words
from tests.services.conftest import Writing
from tests.services.floor import Done, Floor


@pytest.fixture
def stage() -> Done:
    """2E and 3E proved, the first pass at 2E corrected."""
    return Floor.bored


@pytest.fixture
def bored(floor: Floor) -> Floor:
    return floor


def rings(floor: Floor) -> list[Ring]:
    with floor.database.read() as session:
        return floor.hands.rings_of(session.exec(select(RingSet)).one())


def press_hot(floor: Floor, label: str, nth: int, **fields: str) -> None:
    floor.hands.press(floor.ports[label], rings(floor)[nth], way="heated", head_c="120", **fields)


def newest(session: Session, floor: Floor, label: str) -> RingIn:
    found = load_sheet(session, floor.head).rows.port(floor.ports[label].id).ring_in
    assert found is not None
    return found


def begin(floor: Floor, **fields: str) -> None:
    floor.hands.heat(floor.head, [floor.ports["2E"], floor.ports["3E"]], **fields)


def test_all_rings_of_a_heat_share_its_number(bored: Floor, database: Database) -> None:
    begin(bored)
    press_hot(bored, "2E", 0)
    press_hot(bored, "3E", 1)
    with database.read() as session:
        assert [newest(session, bored, label).heat for label in ("2E", "3E")] == [1, 1]
        [heat] = heats_of(session, load_sheet(session, bored.head))
        assert heat.is_open
        assert not heat.waiting
        assert heats_apart([heat]) == ""


def test_a_ring_pressed_cold_is_of_no_heat(bored: Floor, database: Database) -> None:
    bored.hands.press(bored.ports["2E"], rings(bored)[0])
    with database.read() as session:
        assert newest(session, bored, "2E").heat is None
        assert warm_words(session, load_sheet(session, bored.head)) == ""


def test_a_ring_that_was_not_named_for_the_heat_joins_it(bored: Floor, database: Database) -> None:
    bored.hands.heat(bored.head, [bored.ports["2E"]])
    press_hot(bored, "3E", 1)
    with database.read() as session:
        assert len(session.exec(select(HeatPort)).all()) == 2
        [heat] = heats_of(session, load_sheet(session, bored.head))
        assert [rows.label for rows in heat.pressed] == ["3E"]
        assert [rows.label for rows in heat.waiting] == ["2E"]


def test_a_heated_ring_begins_a_heat_that_nobody_had_begun(
    bored: Floor, database: Database
) -> None:
    press_hot(bored, "2E", 0, heated_by="hot water")
    with database.read() as session:
        [heat] = heats_of(session, load_sheet(session, bored.head))
        assert (heat.heat.nth, heat.heat.heated_by) == (1, "hot water")
        assert newest(session, bored, "2E").method == "head: hot water"


def test_the_customer_is_told_how_each_ring_went_in(bored: Floor, database: Database) -> None:
    press_hot(bored, "2E", 0)
    bored.hands.press(bored.ports["3E"], rings(bored)[1])
    with database.read() as session:
        sheet = load_sheet(session, bored.head)
        whole = customer_record(session, bored.job, letterhead(session, bored.job), sheet)
    done = [one.done for one in whole.positions if "ring" in one.done]
    assert [words.partition("bored for it and ")[2] for words in done] == [
        "fitted, head heated.",
        "pressed in.",
    ]


def test_a_second_heat_runs_only_after_the_first(bored: Floor) -> None:
    begin(bored)
    with pytest.raises(Refused, match="Heat 1 of this head is not over"):
        begin(bored)


def test_a_heat_hotter_than_the_cap_is_asked_about(bored: Floor, database: Database) -> None:
    with pytest.raises(Refused, match="180 °C is above the shop's cap of 150 °C") as asked:
        begin(bored, wanted_c="180")
    assert asked.value.field == "confirm_hot"
    begin(bored, wanted_c="180", confirm_hot="yes")
    with database.read() as session:
        [heat] = heats_of(session, load_sheet(session, bored.head))
        assert heat.heat.wanted_c == 180


def test_a_head_that_was_hotter_than_the_cap_as_a_ring_went_in_is_asked_about(
    bored: Floor,
) -> None:
    begin(bored)
    with pytest.raises(Refused, match="above the shop's cap"):
        bored.hands.press(bored.ports["2E"], rings(bored)[0], way="heated", head_c="160")


def test_a_ring_colder_than_the_shop_takes_is_asked_about(bored: Floor) -> None:
    with pytest.raises(Refused, match="-199 °C is colder than rings are made here") as asked:
        bored.hands.press(bored.ports["2E"], rings(bored)[0], way="chilled", ring_c="-199")
    assert asked.value.field == "confirm_cold"


def test_a_heat_is_not_over_while_a_ring_is_out_without_a_reason(
    bored: Floor, database: Database
) -> None:
    begin(bored)
    press_hot(bored, "2E", 0)
    with pytest.raises(Refused, match="3E: no ring went in in this heat") as asked:
        bored.hands.end_heat(bored.head)
    assert asked.value.field == "left_out"
    bored.hands.end_heat(bored.head, "its ring was dropped")
    with database.read() as session:
        [heat] = heats_of(session, load_sheet(session, bored.head))
        assert heat.close is not None
        assert heat.close.left_out == "its ring was dropped"


def test_heating_again_asks_first_and_warms_the_rings_that_are_in(
    bored: Floor, database: Database
) -> None:
    bored.hands.heat(bored.head, [bored.ports["2E"]])
    press_hot(bored, "2E", 0)
    bored.hands.end_heat(bored.head)
    bored.hands.cool(bored.head, {"2E": bored.ports["2E"]})
    with pytest.raises(Refused, match="2E: ring in already, and heat would loosen it") as asked:
        bored.hands.heat(bored.head, [bored.ports["3E"]])
    assert asked.value.field == "confirm_other_heat"
    bored.hands.heat(bored.head, [bored.ports["3E"]], confirm_other_heat="yes")
    press_hot(bored, "3E", 1)
    bored.hands.end_heat(bored.head)
    with database.read() as session:
        sheet = load_sheet(session, bored.head)
        heats = heats_of(session, sheet)
        assert [[rows.label for rows in heat.pressed] for heat in heats] == [["2E"], ["3E"]]
        assert "2E in heat 1; 3E in heat 2" in heats_apart(heats)
        # What was cold is warm again, and has to be felt for once more.
        assert [rows.label for rows in warm_rings(sheet)] == ["2E", "3E"]


def test_nothing_is_cut_on_a_warm_head(bored: Floor, writing: Writing, database: Database) -> None:
    begin(bored)
    press_hot(bored, "2E", 0)
    for told in ("Heat 1 is not over", "The head was heated for 2E, and that it is cold"):
        with writing() as tx, pytest.raises(Refused, match=told):
            open_cut(tx, bored.ports["3E"], 1, was_touched=True)
        with database.read() as session:
            is_open = heats_of(session, load_sheet(session, bored.head))[-1].is_open
        if is_open:
            bored.hands.end_heat(bored.head, "the other is late")
    bored.hands.cool(bored.head, {"2E": bored.ports["2E"]})
    with writing() as tx, pytest.raises(Refused) as other:
        open_cut(tx, bored.ports["3E"], 1, was_touched=True)
    assert "cold" not in other.value.message


def test_cold_again_says_how_and_keeps_who_pressed_it_and_when(
    bored: Floor, database: Database
) -> None:
    begin(bored)
    press_hot(bored, "2E", 0)
    press_hot(bored, "3E", 1)
    bored.hands.end_heat(bored.head)
    with database.read() as session:
        sheet = load_sheet(session, bored.head)
        keys = [point.key for point in open_points(None, sheet.facts, ["2E"])]
        assert "ring_seated" in keys
        hot = newest(session, bored, "2E").at
    bored.hands.later(minutes=95)
    own = {f"feel.{bored.ports['3E'].id}": "could not reach: the port is too narrow"}
    bored.hands.cool(bored.head, {k: bored.ports[k] for k in ("2E", "3E")}, **own)
    with database.read() as session:
        sheet = load_sheet(session, bored.head)
        rows = sheet.rows.port(bored.ports["2E"].id)
        assert rows.ring_in is not None
        assert rows.pressed is not None
        assert rows.ring_in.cool_down == "stood 90 minutes, in still air; head at 21 °C"
        assert rows.pressed.at == hot
        assert rows.ring_in.at - hot > timedelta(minutes=90)
        third = newest(session, bored, "3E")
        assert third.feeler == "could not reach: the port is too narrow"
        assert not [
            p for p in open_points(None, sheet.facts, ["2E", "3E"]) if p.key == "ring_seated"
        ]


def test_a_head_that_is_not_cold_yet_is_asked_about(bored: Floor) -> None:
    begin(bored)
    press_hot(bored, "2E", 0)
    press_hot(bored, "3E", 1)
    with pytest.raises(Refused, match="Heat 1 is not over"):
        bored.hands.cool(bored.head, {k: bored.ports[k] for k in ("2E", "3E")})
    bored.hands.end_heat(bored.head)
    with pytest.raises(Refused, match="45 °C is not within 5 °C of the shop's 20 °C") as asked:
        bored.hands.cool(bored.head, {k: bored.ports[k] for k in ("2E", "3E")}, head_c="45")
    assert asked.value.field == "confirm_warm"
    both = {k: bored.ports[k] for k in ("2E", "3E")}
    bored.hands.cool(bored.head, both, head_c="45", confirm_warm="yes")
    with pytest.raises(Refused, match="No ring of this head waits"):
        bored.hands.cool(bored.head, both)


def test_a_feeler_that_enters_leaves_the_ring_open(bored: Floor, database: Database) -> None:
    bored.hands.press(
        bored.ports["2E"], rings(bored)[0], feeler="enters", feeler_why="to be driven again"
    )
    with database.read() as session:
        [point] = [
            each
            for each in open_points(None, load_sheet(session, bored.head).facts, ["2E"])
            if each.key == "ring_seated"
        ]
    assert "a feeler enters under it" in point.told
