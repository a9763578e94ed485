"""Ways out of a hold stand side by side, each with what it needs and what is not known."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.units import Length
from app.workflow.kinds import HoldReason, Unit
from app.workflow.permissions import Verb
from app.workflow.ways_out import (
    LEAST_CUT,
    HoldSituation,
    RingChoice,
    beyond,
    deviation_verb,
    way_out,
    ways_out,
)
from app.workflow.words import Way


def inch(text: str) -> Length:
    return Length.of(text)


def held(reason: HoldReason = HoldReason.LOOSE, **changes: Any) -> HoldSituation:
    plain = HoldSituation(
        reason=reason,
        unit=Unit.INCH,
        bore=inch("1.62465"),
        ring_od=inch("1.62615"),
        least=inch(".0030"),
        aim=inch(".0040"),
        most=inch(".0050"),
        depth=inch(".2500"),
        depth_wanted=inch(".2500"),
    )
    return replace(plain, **changes)


@pytest.mark.parametrize("reason", list(HoldReason))
def test_every_way_stands_in_the_same_order_and_says_something(reason: HoldReason) -> None:
    ways = ways_out(held(reason))
    assert [each.way for each in ways] == [
        Way.CUT_AGAIN,
        Way.ANOTHER_RING,
        Way.LARGER_RING,
        Way.READ_AGAIN,
        Way.WELD,
        Way.DEVIATION,
        Way.STOP_AND_ASK,
        Way.SCRAP,
    ]
    assert {each.way for each in ways} == set(Way)
    assert all(each.told for each in ways)
    assert not any("safe" in each.told.lower() for each in ways)
    assert {each.way for each in ways if each.is_deviation} == {Way.DEVIATION}


def test_a_loose_bore_cannot_be_cut_again_for_the_same_ring() -> None:
    way = way_out(held(), Way.CUT_AGAIN)
    assert not way.is_open
    assert way.told == "Nothing is left to cut for this ring; a cut needs .0010."


def test_a_tight_bore_is_cut_again_to_the_aim() -> None:
    way = way_out(held(HoldReason.TIGHT, bore=inch("1.62065")), Way.CUT_AGAIN)
    assert way.is_open
    assert way.opens_next_pass
    assert way.next_bore == inch("1.62215")
    assert "gripped by .00400" in way.told


def test_cut_again_is_not_offered_when_less_than_the_least_cut_is_left() -> None:
    # .0051 in a window of .0045 to .0050: only .0006 before the ring would be loose.
    tight = held(HoldReason.TIGHT, bore=inch("1.62105"), least=inch(".0045"), aim=inch(".0048"))
    way = way_out(tight, Way.CUT_AGAIN)
    assert not way.is_open
    assert way.told == "Only .00060 is left to cut for this ring; a cut needs .0010."
    assert way_out(replace(tight, least_cut=inch(".0005")), Way.CUT_AGAIN).is_open


def test_where_the_aim_leaves_less_than_a_cut_the_least_cut_is_taken_and_stays_inside() -> None:
    # .0061 in the aluminium window .0050/.0055/.0060: the aim leaves .0006 only.
    tight = held(
        HoldReason.TIGHT,
        bore=inch("1.62005"),
        least=inch(".0050"),
        aim=inch(".0055"),
        most=inch(".0060"),
    )
    way = way_out(tight, Way.CUT_AGAIN)
    assert way.is_open
    assert way.next_bore == inch("1.62105")
    assert "gripped by .00510" in way.told


@given(st.integers(-3000, 12000), st.integers(1, 40), st.integers(0, 40), st.integers(0, 40))
def test_an_offered_cut_always_lands_inside_the_window(
    interference: int, least: int, to_aim: int, to_most: int
) -> None:
    unit = 2540
    od = inch("1.62615")
    hold = held(
        HoldReason.TIGHT,
        bore=od - Length(interference * 254),
        least=Length(least * unit),
        aim=Length((least + to_aim) * unit),
        most=Length((least + to_aim + to_most) * unit),
    )
    way = way_out(hold, Way.CUT_AGAIN)
    if way.is_open:
        assert way.next_bore is not None
        assert hold.bore is not None
        assert hold.least is not None
        assert way.next_bore - hold.bore >= LEAST_CUT
        assert od - way.next_bore >= hold.least


def test_a_ring_that_is_in_is_not_cut_round() -> None:
    assert not way_out(
        held(HoldReason.TIGHT, bore=inch("1.6200"), ring_is_in=True), Way.CUT_AGAIN
    ).is_open


def test_another_ring_of_the_set_is_named_when_it_would_be_inside() -> None:
    rings = (
        RingChoice("1", inch("1.6290")),
        RingChoice("2", inch("1.6264")),
        RingChoice("3"),
    )
    way = way_out(held(set_rings=rings), Way.ANOTHER_RING)
    assert way.is_open
    assert way.rings == ("1",)
    assert "1 (.00435)" in way.told
    assert way.not_known == ("outside diameter of 3",)


def test_no_ring_of_the_set_is_large_enough() -> None:
    way = way_out(held(set_rings=(RingChoice("2", inch("1.6264")),)), Way.ANOTHER_RING)
    assert not way.is_open
    assert way.told == "No ring of the set measures 1.62765 to 1.62965."
    assert not way_out(held(), Way.ANOTHER_RING).is_open


def test_a_larger_ring_says_about_what_it_would_need_and_to_measure_it_first() -> None:
    shelf = (
        RingChoice("blank 30", inch("1.6560")),
        RingChoice("plus 10", inch("1.6361")),
        RingChoice("standard", inch("1.6262")),
        RingChoice("unread"),
    )
    way = way_out(held(shelf_rings=shelf, beside=("2E",)), Way.LARGER_RING)
    assert way.is_open
    assert way.told == (
        "Would need a ring of about 1.62965 or more, in a bore of about 1.62565 or more; "
        "measure it first. On the shelf: plus 10 and blank 30."
    )
    assert way.rings == ("plus 10", "blank 30")
    assert way.not_known == ("wall behind the bore", "web to 2E")
    assert "the ring measured first" in way.needs


def test_what_is_known_of_the_metal_is_not_called_unknown() -> None:
    way = way_out(held(wall=".140", web=".095"), Way.LARGER_RING)
    assert way.not_known == ()


def test_a_shallow_bore_is_cut_deeper_at_the_same_size() -> None:
    way = way_out(held(HoldReason.SHALLOW, depth=inch(".2458")), Way.CUT_AGAIN)
    assert way.is_open
    assert way.told == "Cut .0042 deeper at the same size."
    assert way.next_bore == inch("1.62465")


def test_a_deep_bore_is_not_cut_again_but_a_higher_ring_may_do() -> None:
    deep = held(HoldReason.DEEP, depth=inch(".2560"), set_rings=(RingChoice("4"),))
    assert not way_out(deep, Way.CUT_AGAIN).is_open
    ring = way_out(deep, Way.ANOTHER_RING)
    assert ring.is_open
    assert ring.told == "A ring about .0060 higher would stand right at this depth."
    assert ring.not_known == ("height of 4",)


@pytest.mark.parametrize("reason", [HoldReason.OUT_OF_ROUND, HoldReason.TAPER])
def test_another_ring_of_the_same_size_does_not_mend_a_shape(reason: HoldReason) -> None:
    way = way_out(held(reason, set_rings=(RingChoice("1", inch("1.6290")),)), Way.ANOTHER_RING)
    assert not way.is_open


@pytest.mark.parametrize("reason", list(HoldReason))
def test_nothing_is_promised_from_what_was_not_read(reason: HoldReason) -> None:
    blind = HoldSituation(reason=reason, unit=Unit.INCH, set_rings=(RingChoice("1"),))
    ways = {each.way: each for each in ways_out(blind)}
    assert not ways[Way.CUT_AGAIN].is_open
    assert not ways[Way.ANOTHER_RING].is_open
    assert "not to be said" in ways[Way.LARGER_RING].told
    assert "bore" in ways[Way.LARGER_RING].not_known


@pytest.mark.parametrize("reason", list(HoldReason))
def test_reading_again_stopping_and_signing_are_always_open(reason: HoldReason) -> None:
    for way in (Way.READ_AGAIN, Way.STOP_AND_ASK, Way.DEVIATION, Way.SCRAP, Way.WELD):
        assert way_out(held(reason), way).is_open


@pytest.mark.parametrize(("is_aluminium", "asked"), [(True, True), (False, False)])
def test_hardness_after_welding_is_asked_of_aluminium_alone(
    is_aluminium: bool, asked: bool
) -> None:
    needs = way_out(held(HoldReason.LOOSE, is_aluminium=is_aluminium), Way.WELD).needs
    assert any("hardness" in each for each in needs) is asked


def test_only_ways_that_cut_or_change_the_ring_open_a_next_pass() -> None:
    tight = held(
        HoldReason.TIGHT, bore=inch("1.62065"), set_rings=(RingChoice("1", inch("1.625")),)
    )
    assert {each.way for each in ways_out(tight) if each.opens_next_pass} == {
        Way.CUT_AGAIN,
        Way.ANOTHER_RING,
        Way.LARGER_RING,
        Way.WELD,
    }


def test_a_metric_hold_is_told_in_millimetres() -> None:
    hold = HoldSituation(
        reason=HoldReason.LOOSE,
        unit=Unit.MM,
        bore=Length.of("41.190", "mm"),
        ring_od=Length.of("41.300", "mm"),
        least=Length.of("0.160", "mm"),
        aim=Length.of("0.180", "mm"),
        most=Length.of("0.200", "mm"),
        least_cut=Length.of("0.025", "mm"),
    )
    assert "41.3950 or more" in way_out(hold, Way.LARGER_RING).told


@pytest.mark.parametrize(
    ("changes", "outside", "verb"),
    [
        ({}, ".0015", Verb.DEVIATE_PAST_LIMIT),
        ({"bore": inch("1.62365")}, ".0005", Verb.SIGN_DEVIATION),
        ({"bore": inch("1.62366")}, ".00051", Verb.DEVIATE_PAST_LIMIT),
        ({"bore": inch("1.6222"), "reason": HoldReason.NOT_PROVED}, "0", Verb.SIGN_DEVIATION),
        ({"bore": inch("1.62015"), "reason": HoldReason.TIGHT}, ".0010", Verb.DEVIATE_PAST_LIMIT),
        ({"bore": None}, None, Verb.DEVIATE_PAST_LIMIT),
        ({"reason": HoldReason.DEEP}, None, Verb.DEVIATE_PAST_LIMIT),
        ({"reason": HoldReason.CHANGED}, None, Verb.DEVIATE_PAST_LIMIT),
    ],
)
def test_past_the_shops_limit_only_an_owner_signs_a_deviation(
    changes: dict[str, Any], outside: str | None, verb: Verb
) -> None:
    hold = held(**changes)
    assert beyond(hold) == (None if outside is None else inch(outside))
    assert deviation_verb(hold, inch(".0005")) is verb
