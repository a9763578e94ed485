"""What a head record tells a customer of valves, springs, vacuum and chambers."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from app.workflow.grids import BELOW_DECK
from app.workflow.kinds import ReadingKind
from seed_demo.valvework import chambers, contact_and_deck, vacuum, valves_and_springs
from tests.web.bench import Bench, words

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def stage() -> str:
    return "ringed"


@pytest.fixture
def record(bench: Bench, signed_in_as: SignedInAs) -> Callable[[], str]:
    marek = signed_in_as("Marek")
    return lambda: words(marek.get(f"/heads/{bench.head.id}/record"))


def test_a_head_whose_valves_nobody_looked_at_says_nothing_of_them(
    record: Callable[[], str],
) -> None:
    told = record()
    for section in ("Valves and springs", "Vacuum test", "Chamber volumes"):
        assert section not in told


def test_seats_stand_with_their_stems_before_and_after_and_how_far_they_sank(
    bench: Bench, record: Callable[[], str]
) -> None:
    deck = {"3E": [".031"]}
    bench.hands.read_along(bench.head, ReadingKind.STEM_HEIGHTS, BELOW_DECK, deck)
    bench.hands.finish(bench.head, {"3E": [".062", ".0010", "1.854"]})
    bench.hands.read_along(bench.head, ReadingKind.FINISH, BELOW_DECK, {"3E": [".035"]})
    seats = record().partition("stem height in")[2]
    assert "1.8500 1.8540 +.0040 sunk .0040 .0620 .0010" in seats


def test_each_valve_is_told_with_its_spring_and_what_follows(
    bench: Bench, record: Callable[[], str]
) -> None:
    valves_and_springs(bench.hands, bench.head, {"3E": "refaced", "3I": "missing"})
    contact_and_deck(bench.hands, bench.head)
    told = record().partition("Valves and springs")[2]
    exhaust = told.partition("3E")[2].partition("3I")[0]
    assert "refaced .0620 .0010 4.9200 .0030 1.8120 book 1.7800 .0300" in exhaust
    assert "shim to the book: .0320; with its shims .0020 over the book" in exhaust
    assert "contact .0580 wide, .0220 from the valve's edge" in exhaust
    assert told.partition("3I")[2].startswith(" missing")


def test_the_vacuum_test_is_told_by_how_it_ended_with_its_figures(
    bench: Bench, record: Callable[[], str]
) -> None:
    vacuum(bench.hands, bench.head, {"3E": "21.5"})
    told = record().partition("Vacuum test")[2]
    assert "3E not OK 23 to 21.5 inHg in 10 s" in told
    assert "1.5 inHg lost in 10 seconds" in told
    assert "4I OK 23 to 22.5 inHg in 10 s" in told.replace(" and 4E", "").replace("4E OK", "4I OK")


def test_the_chambers_are_told_with_the_one_that_is_out(
    bench: Bench, record: Callable[[], str]
) -> None:
    chambers(bench.hands, bench.head, "43.2", "43.3", "44.8", "43.1")
    told = record().partition("Chamber volumes")[2]
    assert "cylinder 3 44.8 cm³" in told
    assert "cylinder 3 holds 1.5 cm³ more" in told
