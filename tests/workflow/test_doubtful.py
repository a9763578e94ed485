"""Odd figures are asked about once, and nothing is worked from a doubtful reading."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.units import Length
from app.workflow.doubtful import (
    Doubt,
    not_worked_yet,
    odd_depth,
    odd_interference,
    odd_label,
    odd_overcut,
    readings_in_doubt,
)
from app.workflow.kinds import Unit

APART = Length.of(".001")


@dataclass(frozen=True)
class Reading:
    id: int
    value: Length
    typed: str
    kept_because: str | None = None


def read(*typed: str, kept: tuple[str, ...] = ()) -> list[Reading]:
    return [
        Reading(n, Length.of(text), text, "looked again" if text in kept else None)
        for n, text in enumerate(typed)
    ]


def asked(*typed: str, kept: tuple[str, ...] = ()) -> list[str]:
    return [doubt.typed for doubt in readings_in_doubt(read(*typed, kept=kept), APART)]


@pytest.mark.parametrize(
    ("typed", "doubtful"),
    [
        ((), []),
        (("1.6262",), []),
        (("1.6262", "1.6260", "1.6261", "1.6263"), []),
        (("1.6263", "1.6281"), ["1.6281"]),
        (("1.6281", "1.6263"), ["1.6263"]),
        (("1.6261", "1.6262", "1.6281"), ["1.6281"]),
        (("1.6281", "1.6262", "1.6261"), ["1.6281"]),
        (("1.6262", "1.6262", "1.6262", "1.6252"), ["1.6252"]),
        (("1.6262", "1.6262", "1.6262", "1.62521"), []),
        (("1.6200", "1.6262", "1.6262", "1.6300"), ["1.6200", "1.6300"]),
        (("1.6262", "1.6262", "1.6281", "1.6281"), ["1.6281", "1.6281"]),
    ],
)
def test_a_reading_a_thou_from_the_others_is_asked_about(
    typed: tuple[str, ...], doubtful: list[str]
) -> None:
    assert asked(*typed) == doubtful


def test_good_readings_are_not_suspected_for_one_bad_one() -> None:
    (doubt,) = readings_in_doubt(read("1.6261", "1.6262", "1.6281"), APART)
    assert doubt == Doubt(2, "1.6281", Length.of(".00195"), ("1.6261", "1.6262"))


@pytest.mark.parametrize("kept", ["1.6281", "1.6263"])
def test_a_pair_of_which_one_was_kept_is_settled(kept: str) -> None:
    assert asked("1.6263", "1.6281", kept=(kept,)) == []


def test_a_kept_reading_is_not_asked_about_again() -> None:
    assert asked("1.6261", "1.6262", "1.6281", kept=("1.6281",)) == []


def test_keeping_one_odd_reading_does_not_settle_another() -> None:
    assert asked("1.6200", "1.6262", "1.6262", "1.6300", kept=("1.6200",)) == ["1.6300"]


@given(st.lists(st.integers(0, 60), max_size=8))
def test_never_is_every_reading_in_doubt(tenths: list[int]) -> None:
    group = [Reading(n, Length(2540 * each), str(each)) for n, each in enumerate(tenths)]
    doubts = readings_in_doubt(group, APART)
    assert len(doubts) < max(len(group), 1)
    if tenths and max(tenths) - min(tenths) < 10:
        assert doubts == ()


@given(st.lists(st.integers(0, 9), min_size=3, max_size=6), st.integers(20, 400))
def test_one_far_reading_is_the_only_one_asked_about(tenths: list[int], far: int) -> None:
    group = [Reading(n, Length(2540 * each), str(each)) for n, each in enumerate(tenths)]
    group.insert(1, Reading(99, Length(2540 * far), "far"))
    assert [doubt.reading_id for doubt in readings_in_doubt(group, APART)] == [99]


@pytest.mark.parametrize(
    ("interference", "odd"),
    [(".0008", False), (".00079", True), (".0160", False), (".01601", True), (".0040", False)],
)
def test_an_interference_out_of_half_to_ten_thou_per_inch_is_asked(
    interference: str, odd: bool
) -> None:
    assert (odd_interference(Length.of(interference), Length.of("1.6")) is not None) is odd


def test_an_odd_interference_says_how_odd() -> None:
    odd = odd_interference(Length.of(".0400"), Length.of("1.6"))
    assert odd is not None
    assert odd.told.startswith("25.00 thou per inch of ring")


@pytest.mark.parametrize(
    ("overcut", "odd"),
    [(".0020", False), ("-.0020", False), (".00201", True), ("-.00201", True), ("0", False)],
)
def test_an_overcut_over_two_thou_either_way_is_asked(overcut: str, odd: bool) -> None:
    assert (odd_overcut(Length.of(overcut), Unit.INCH) is not None) is odd


def test_an_odd_overcut_reminds_of_radius_and_diameter() -> None:
    odd = odd_overcut(Length.of("-.0050"), Unit.INCH)
    assert odd is not None
    assert odd.told.startswith(".0050 under the size set")
    assert "Radius read as diameter" in odd.told


@pytest.mark.parametrize(
    ("depth", "told"),
    [
        (".2600", None),
        (".2400", None),
        (".2601", "would stand .0101 below the lip"),
        (".2399", "would stand .0101 proud of the lip"),
    ],
)
def test_a_depth_far_from_the_rings_height_is_asked(depth: str, told: str | None) -> None:
    odd = odd_depth(Length.of(depth), Length.of(".2500"), Unit.INCH)
    assert (odd is None) == (told is None)
    if odd is not None and told is not None:
        assert told in odd.told


def test_the_label_is_asked_about_and_never_worked_from() -> None:
    odd = odd_label(Length.of(".0041"), Unit.INCH)
    assert odd.told.startswith("These rings measure .0041 over the box, all alike.")
    assert "worked from the readings either way" in odd.told


def test_the_next_button_is_grey_until_every_question_is_settled() -> None:
    doubts = readings_in_doubt(read("1.6261", "1.6262", "1.6281"), APART)
    odd = [odd_label(Length.of(".0041"), Unit.INCH)]
    assert not_worked_yet(doubts, [], ()) == (
        "1.6281 stands apart from 1.6261 and 1.6262: strike it, or keep it with a reason."
    )
    assert "over the box" in not_worked_yet([], odd, ())
    assert not_worked_yet([], odd, {"built_in_interference"}) == ""
    assert not_worked_yet(doubts, odd, {"built_in_interference"}) != ""
