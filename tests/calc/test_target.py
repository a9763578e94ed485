"""The bore to aim at."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import ImpossibleError
from app.calc.rules import interference
from app.calc.target import target_bore
from app.calc.units import Length

CHECKS = {
    "target_bore": "ring and counterbore sizes published side by side: US Army TM 5-6115-400-35 "
    "table 2.1 (ring 1.6445 to 1.6455, bore 1.6415 to 1.6425, fit .002 to .004 in)",
}
IRON = interference(least=Length.of(".003"), aim=Length.of(".004"), most=Length.of(".005"))


def test_published_ring_and_bore_sizes_come_out_of_their_published_fit():
    fit = interference(least=Length.of(".002"), most=Length.of(".004"))
    middle = target_bore(ring_od_nm=Length.of("1.6450").nm, window=fit, rule_source="manual")
    assert middle.target_bore == Length.of("1.6420")
    smallest = target_bore(ring_od_nm=Length.of("1.6445").nm, window=fit, rule_source="manual")
    largest = target_bore(ring_od_nm=Length.of("1.6455").nm, window=fit, rule_source="manual")
    assert largest.bore_low == Length.of("1.6415")
    assert smallest.bore_high == Length.of("1.6425")


def test_a_metric_target():
    fit = interference(
        least=Length.of("0.17 mm"), aim=Length.of("0.18 mm"), most=Length.of("0.20 mm")
    )
    found = target_bore(
        ring_od_nm=Length.of("41.30 mm").nm, window=fit, rule_source="shop", unit="mm"
    )
    assert found.target_bore == Length.of("41.120 mm")
    assert found.thou_per_inch == "4.36"


@given(
    st.integers(10_000_000 * 8, 150_000_000 * 8),
    st.lists(st.integers(0, 1_000_000), min_size=3, max_size=3).map(sorted),
    st.sampled_from(["in", "mm"]),
)
def test_the_shown_figures_subtract(eighths: int, ends: list[int], unit: str):
    window = interference(least=Length(ends[0]), aim=Length(ends[1]), most=Length(ends[2]))
    od = Fraction(eighths, 8)
    found = target_bore(ring_od_nm=od, window=window, rule_source="shop", unit=unit)
    figures = {step.symbol: Fraction(step.value) for step in found.working}
    assert figures["D"] - figures["I"] == figures["B"]
    per = 25_400_000 if unit == "in" else 1_000_000
    assert abs(figures["B"] * per - found.target_bore.nm) <= per * Fraction(1, 10_000)
    assert found.bore_low <= found.target_bore <= found.bore_high


def test_a_fit_far_outside_every_habit_is_odd_but_not_refused():
    tight = interference(least=Length.of(".010"), most=Length.of(".020"))
    assert target_bore(ring_od_nm=Length.of("1.2").nm, window=tight, rule_source="shop").is_odd
    assert not target_bore(ring_od_nm=Length.of("1.6").nm, window=IRON, rule_source="shop").is_odd


def test_a_ring_no_larger_than_its_interference_is_refused():
    with pytest.raises(ImpossibleError):
        target_bore(ring_od_nm=Length.of(".005").nm, window=IRON, rule_source="shop")
