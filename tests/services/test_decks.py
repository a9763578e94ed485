"""Deck cuts: what came off, and what was gauged from the deck as it was."""

from __future__ import annotations

import pytest
from sqlmodel import select

from app.calc.units import Length
from app.db import Database
from app.models.inspection import DeckCut
from app.services.decks import take_back_deck_cut
from app.services.write import Refused
from app.worksheets.cutting import clamped_up
from app.worksheets.decks import deck_cuts, deck_ports, removed
from app.worksheets.facts import load_sheet
from app.worksheets.verifications import depth_wanted
from tests.services.conftest import Writing
from tests.services.floor import Floor


def bored(floor: Floor, datum: str = "deck", deck_stock: str = "") -> Floor:
    """2E bored to size from a datum and proved; 3E not cut yet."""
    floor.read_rings()
    setting = floor.set_up()
    floor.hands.clamp(floor.head, floor.machine.id, datum=datum, deck_stock=deck_stock)
    depth = ".2501" if not deck_stock else ".2581"
    port = floor.ports["2E"]
    floor.hands.cut(port, setting, ["1.6205", "1.6205", depth])
    floor.hands.correct(setting, "1.6205", 0)
    floor.hands.set_to(setting)
    floor.hands.cut(port, setting, ["1.6222", "1.6222", depth])
    floor.hands.prove(port)
    floor.hands.later(minutes=30)
    return floor


def wanted(floor: Floor) -> Length | None:
    with floor.database.read() as session:
        return depth_wanted(
            session, load_sheet(session, floor.head).rows.port(floor.ports["2E"].id)
        )


def verdict(floor: Floor) -> object:
    with floor.database.read() as session:
        return load_sheet(session, floor.head).facts.port("2E").verdict


def test_cuts_add_up_and_one_that_is_taken_back_does_not_count(
    floor: Floor, database: Database, writing: Writing
) -> None:
    floor.hands.cut_deck(floor.head, ".004", still_to_come=".002", stamped="-.004")
    floor.hands.cut_deck(floor.head, ".002")
    with database.read() as session:
        cuts = deck_cuts(session, floor.head.id)
    assert removed(cuts) == Length.of(".006")
    with writing() as tx:
        take_back_deck_cut(tx, floor.head.id, cuts[1].id, "typed for the other head")
    with database.read() as session:
        left = deck_cuts(session, floor.head.id)
        assert (removed(left), left[0].stamped) == (Length.of(".004"), "-.004")
        assert len(session.exec(select(DeckCut)).all()) == 3
    with writing() as tx, pytest.raises(Refused, match="taken back already"):
        take_back_deck_cut(tx, floor.head.id, cuts[1].id, "once more")


def test_more_than_the_shop_takes_is_asked_about_with_what_came_off_before(floor: Floor) -> None:
    floor.hands.cut_deck(floor.head, ".008")
    with pytest.raises(Refused) as asked:
        floor.hands.cut_deck(floor.head, ".004")
    assert asked.value.field == "confirm_much"
    assert ".012" in asked.value.message
    assert "with the .008" in asked.value.message
    floor.hands.cut_deck(floor.head, ".004", confirm_much="yes")


def test_a_touch_off_on_the_deck_is_over_once_it_was_cut(floor: Floor, database: Database) -> None:
    floor.hands.clamp(floor.head, floor.machine.id, datum="deck")
    floor.hands.later(minutes=5)
    floor.hands.cut_deck(floor.head, ".004")
    with database.read() as session:
        assert clamped_up(session, floor.head.id) is None


def test_a_touch_off_beside_the_seat_stays(floor: Floor, database: Database) -> None:
    floor.hands.clamp(floor.head, floor.machine.id)
    floor.hands.later(minutes=5)
    floor.hands.cut_deck(floor.head, ".004")
    with database.read() as session:
        assert clamped_up(session, floor.head.id) is not None


def test_a_bore_cut_from_the_deck_is_gauged_again_when_more_came_off(floor: Floor) -> None:
    bored(floor)
    assert wanted(floor) == Length.of(".2501")
    assert verdict(floor) is not None
    floor.hands.cut_deck(floor.head, ".006")
    # The depth that was read from the old deck no longer counts: .2501 less .006 is to be gauged.
    assert verdict(floor) is None
    assert wanted(floor) == Length.of(".2441")


def test_a_bore_cut_for_the_stock_stands_when_that_came_off(
    floor: Floor, database: Database
) -> None:
    bored(floor, deck_stock=".008")
    assert wanted(floor) == Length.of(".2581")
    floor.hands.cut_deck(floor.head, ".008")
    assert verdict(floor) is not None
    with database.read() as session:
        sheet = load_sheet(session, floor.head)
        [port] = deck_ports(session, sheet, deck_cuts(session, floor.head.id))
    assert port.depth is not None
    assert port.depth.depth == Length.of(".2501")
    assert not port.is_over


def test_a_bore_cut_from_the_chamber_roof_does_not_mind(floor: Floor, database: Database) -> None:
    bored(floor, datum="chamber_roof")
    floor.hands.cut_deck(floor.head, ".006")
    assert verdict(floor) is not None
    assert wanted(floor) == Length.of(".2501")
    with database.read() as session:
        sheet = load_sheet(session, floor.head)
        assert deck_ports(session, sheet, deck_cuts(session, floor.head.id)) == ()


def test_a_ring_that_is_in_stays_judged_and_is_told_to_stand_higher(
    floor: Floor, database: Database
) -> None:
    bored(floor)
    with database.read() as session:
        ring = floor.hands.rings_of(
            load_sheet(session, floor.head).targets[floor.ports["2E"].id].set_working.ring_set
        )[0]  # type: ignore[union-attr]
    floor.hands.press(floor.ports["2E"], ring)
    floor.hands.later(minutes=5)
    floor.hands.cut_deck(floor.head, ".006", order="after")
    assert verdict(floor) is not None
    with database.read() as session:
        sheet = load_sheet(session, floor.head)
        [port] = deck_ports(session, sheet, deck_cuts(session, floor.head.id))
    assert port.is_over
    assert port.over_by == Length.of(".006")
