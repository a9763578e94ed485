"""The measured ring, and rings of one part number read as a set."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import CalculationError, MissingError, OrderError
from app.calc.ring import TaggedRing, measured_ring, ring_set_fit
from app.calc.rules import interference
from app.calc.sources import Mark, Source
from app.calc.units import Length

CHECKS = {
    "measured_ring": "arithmetic mean; ISO 1:2016 for the temperature that sizes hold at; growth "
    "of 12.3e-6 per K for 4140 steel from Callister, table B.6, worked in decimals",
    "ring_set_fit": "OD minus bore, ring by ring (own derivation, consistency only)",
}
IRON = interference(least=Length.of(".003"), aim=Length.of(".004"), most=Length.of(".005"))
ods = st.lists(st.integers(10_000_000, 150_000_000).map(Length), min_size=1, max_size=12)


def ring(*od: str, temperature_c=20, gauge_temperature_c=20, alpha_per_k=None):
    return measured_ring(
        od=[Length.of(one) for one in od],
        height=[Length.of(".2500"), Length.of(".2503")],
        temperature_c=temperature_c,
        gauge_temperature_c=gauge_temperature_c,
        alpha_per_k=alpha_per_k,
    )


def test_the_mean_of_four_readings_is_exact_and_rounded_once():
    found = ring("1.6262", "1.6260", "1.6261", "1.6263")
    assert found.od_nm == Fraction(41_304_210)
    assert found.od == Length.of("1.62615")
    assert found.od_spread == Length.of(".0003")
    assert found.height == Length.of(".25015")
    assert found.height_spread == Length.of(".0003")


@given(ods)
def test_a_mean_lies_between_the_readings_and_ties_go_to_even(od: list[Length]):
    found = measured_ring(
        od=od, height=od, temperature_c=20, gauge_temperature_c=20, alpha_per_k=None
    )
    assert min(od) <= found.od <= max(od)
    assert abs(found.od_nm - found.od.nm) <= Fraction(1, 2)
    if abs(found.od_nm - found.od.nm) == Fraction(1, 2):
        assert found.od.nm % 2 == 0


def test_a_warm_ring_is_smaller_at_20_degrees_by_its_own_growth():
    found = ring("41.30 mm", temperature_c=33, alpha_per_k=12.3e-6)
    assert found.od == Length.nearest(Fraction(Decimal(41_300_000) / (1 + Decimal("12.3e-6") * 13)))
    assert not found.is_taken_as_read


def test_the_working_names_who_gave_the_rings_expansion():
    maker = Source("maker", "a ring maker's figure", Mark.ENTERED)
    found = measured_ring(
        od=[Length.of("1.6262")],
        height=[Length.of(".25")],
        temperature_c=30,
        gauge_temperature_c=20,
        alpha_per_k=13e-6,
        alpha_source=maker,
    )
    assert maker.cited in {step.source for step in found.working if step.symbol == "α"}
    without = ring("1.6262", temperature_c=30, alpha_per_k=13e-6)
    assert {step.source for step in without.working if step.symbol == "α"} == {"as given"}


def test_a_warm_gauge_reads_small_so_the_ring_is_larger():
    found = ring("41.30 mm", gauge_temperature_c=30)
    assert found.od == Length(41_300_000 + 4_750)  # 41.3 mm × 11.5e-6 × 10, halves to even


def test_a_ring_of_unknown_material_is_taken_as_read_and_the_working_says_so():
    found = ring("1.6262", temperature_c=28, gauge_temperature_c=28)
    assert found.is_taken_as_read
    assert found.od == Length.of("1.6262")
    assert any("taken as read" in step.text for step in found.working)


@pytest.mark.parametrize(
    ("od", "height", "field"), [([], [".25"], "ring_od"), (["1.6"], [], "ring_height")]
)
def test_a_ring_without_a_reading_is_refused(od: list[str], height: list[str], field: str):
    with pytest.raises(MissingError) as refused:
        measured_ring(
            od=[Length.of(one) for one in od],
            height=[Length.of(one) for one in height],
            temperature_c=20,
            gauge_temperature_c=20,
            alpha_per_k=None,
        )
    assert refused.value.field == field


def test_a_temperature_at_which_nothing_is_left_is_refused():
    with pytest.raises(CalculationError) as refused:
        ring("1.6", temperature_c=-273, alpha_per_k=0.01)
    assert refused.value.field == "ring_temperature_c"


def the_set(*od: str) -> list[TaggedRing]:
    return [TaggedRing(str(tag), Length.of(one)) for tag, one in enumerate(od, start=1)]


def test_a_close_set_may_be_mixed():
    found = ring_set_fit(
        rings=the_set("1.6261", "1.6262", "1.6260", "1.6263"),
        window=IRON,
        uncertainty=Length.of(".0002"),
    )
    assert found.may_be_mixed
    assert found.bore == Length.of("1.62215")
    assert [fit.interference for fit in found.fits] == [
        Length.of(one) for one in (".00395", ".00405", ".00385", ".00415")
    ]


def test_the_ring_that_needs_another_bore_does_not_belong():
    found = ring_set_fit(
        rings=the_set("1.6261", "1.6262", "1.6260", "1.6263", "1.6291"),
        window=IRON,
        uncertainty=Length(0),
    )
    assert not found.may_be_mixed
    assert found.strangers == ("5",)


def test_a_ring_on_the_edge_of_the_window_still_belongs():
    found = ring_set_fit(rings=the_set("1.6261", "1.6281"), window=IRON, uncertainty=Length(0))
    assert found.may_be_mixed
    assert {fit.interference for fit in found.fits} == {Length.of(".003"), Length.of(".005")}


def test_a_given_bore_is_judged_as_it_is():
    found = ring_set_fit(
        rings=the_set("1.6261", "1.6262"),
        window=IRON,
        uncertainty=Length(0),
        bore=Length.of("1.6232"),
    )
    assert found.strangers == ("1",)


@given(ods, st.integers(0, 25_000))
def test_no_other_bore_suits_more_rings(od: list[Length], uncertainty: int):
    rings = [TaggedRing(str(tag), one) for tag, one in enumerate(od)]
    found = ring_set_fit(rings=rings, window=IRON, uncertainty=Length(uncertainty))
    at_edges = (
        ring_set_fit(
            rings=rings,
            window=IRON,
            uncertainty=Length(uncertainty),
            bore=one - IRON.least - Length(uncertainty),
        )
        for one in od
    )
    suited = len(rings) - len(found.strangers)
    assert all(suited >= len(rings) - len(other.strangers) for other in at_edges)


def test_doubt_wider_than_the_window_is_refused():
    with pytest.raises(OrderError):
        ring_set_fit(rings=the_set("1.6"), window=IRON, uncertainty=Length.of(".0011"))
    with pytest.raises(MissingError):
        ring_set_fit(rings=[], window=IRON, uncertainty=Length(0))
