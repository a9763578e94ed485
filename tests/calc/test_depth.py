"""Depth, datum, stop and travel."""

from fractions import Fraction

import pytest

from app.calc.depth import Datum, corner_check, counterbore_depth, depth_stop, floor_check
from app.calc.errors import ImpossibleError, MissingError, OrderError
from app.calc.units import Length

CHECKS = {
    "counterbore_depth": "workshop practice published in US Army TM 5-3810-289-34 par. 3-46: after "
    "resurfacing with rings reused the counterbore is deepened by what came off; digits own",
    "depth_stop": "geometry (own derivation, consistency only)",
    "floor_check": "geometry (own derivation, consistency only)",
    "corner_check": "geometry: a chamfer's leg must reach past the fillet; tool bit radius .008 to "
    ".010 in published in US Army TM 5-3820-256-24-5 fig. 28",
}


def depth(protrusion: str, deck_stock: str = "0", datum: Datum | None = Datum.DECK) -> Length:
    return counterbore_depth(
        ring_height_nm=Length.of(".2500").nm,
        protrusion=Length.of(protrusion),
        deck_stock=Length.of(deck_stock),
        datum=datum,
    ).depth


def test_a_flush_ring_goes_in_by_its_own_height():
    assert depth("0") == Length.of(".2500")


def test_a_proud_ring_needs_less_depth_and_a_recessed_one_more():
    assert depth(".002") == Length.of(".2480")
    assert depth("-.010") == Length.of(".2600")


def test_stock_to_come_off_the_deck_is_added_only_when_the_deck_is_the_datum():
    assert depth("0", ".008") == Length.of(".2580")
    for datum in (Datum.CHAMBER_ROOF, Datum.OLD_LIP, Datum.OLD_FLOOR, None):
        with pytest.raises(OrderError) as refused:
            depth("0", ".008", datum)
        assert refused.value.field == "deck_stock"


def test_stock_cannot_be_put_back_on_the_deck():
    with pytest.raises(OrderError):
        depth("0", "-.001")


def test_a_ring_standing_on_the_face_is_refused():
    with pytest.raises(ImpossibleError) as refused:
        depth(".250")
    assert refused.value.field == "protrusion"


def test_the_shown_depth_adds_up_for_a_mean_of_three_heights():
    found = counterbore_depth(
        ring_height_nm=Fraction(19_050_254, 3),
        protrusion=Length.of("-.0015"),
        deck_stock=Length(0),
        datum=Datum.OLD_LIP,
    )
    figures = [Fraction(step.value) for step in found.working]
    assert figures[0] + figures[1] + figures[2] == figures[3]
    assert "old lip" in found.working[-1].text


def stop(
    datum: Datum = Datum.CHAMBER_ROOF,
    *,
    old_floor: str | None = None,
    rises: bool = True,
    left: str = ".500",
    height: str = ".250",
):
    return depth_stop(
        depth=Length.of(height),
        datum=datum,
        old_floor=None if old_floor is None else Length.of(old_floor),
        touch_off=Length.of(".300"),
        scale_rises=rises,
        travel_left=Length.of(left),
        allowance=Length.of(".040"),
    )


def test_the_stop_goes_where_the_scale_counts():
    assert stop().stop == Length.of(".550")
    assert stop(rises=False).stop == Length.of(".050")


def test_a_spindle_that_runs_out_of_travel_does_not_reach():
    assert not stop(left=".200").reaches
    assert not stop(left=".290").reaches
    assert stop(left=".2901").reaches


def test_touched_off_on_the_old_floor_only_the_rest_is_travelled():
    found = stop(Datum.OLD_FLOOR, old_floor=".230")
    assert found.travel == Length.of(".020")
    assert found.stop == Length.of(".320")
    assert found.working[2].is_total


def test_the_old_floors_own_depth_is_needed_and_must_be_less():
    for old_floor, error in ((None, MissingError), (".250", OrderError)):
        with pytest.raises(error) as refused:
            stop(Datum.OLD_FLOOR, old_floor=old_floor)
        assert refused.value.field == "old_floor"


def test_a_floor_shallower_than_the_old_one_leaves_a_decision():
    def spare(height: str):
        return floor_check(
            depth=Length.of(height),
            deepest_old_floor=Length.of(".252"),
            clean_up=Length.of(".002"),
        )

    assert not spare(".2539").cleans_up
    assert spare(".254").cleans_up
    assert spare(".260").spare == Length.of(".006")


def test_a_chamfer_must_reach_past_the_tools_corner():
    def clears(chamfer: str) -> bool:
        return corner_check(ring_chamfer=Length.of(chamfer), corner_radius=Length.of(".010")).clears

    assert [clears(chamfer) for chamfer in (".0099", ".010", ".020")] == [False, True, True]


def test_every_datum_has_words_for_the_page():
    assert len({datum.words for datum in Datum}) == len(Datum) == 4
