"""Sizes read away from 20 °C."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import CalculationError
from app.calc.temperature import size_at_reference
from app.calc.units import Length

CHECKS = {
    "size_at_reference": "ISO 1:2016 (20 °C); computed trade figures: 20 K warm, a 1.625 in bore "
    "reads +.0007 in in aluminium and +.0004 in in iron; float formula"
}


@pytest.mark.parametrize(("alpha", "too_large"), [(21.5e-6, ".0007"), (11.4e-6, ".0004")])
def test_a_warm_bore_reads_large_by_the_trades_figure(alpha: float, too_large: str):
    read = Length.of("1.625")
    cold = size_at_reference(read=read, temperature_c=40, gauge_temperature_c=20, alpha_per_k=alpha)
    assert (read - Length.nearest(cold)).inches(4) == too_large


def test_nothing_changes_at_twenty_degrees():
    read = Length.of("1.6222")
    found = size_at_reference(
        read=read, temperature_c=20, gauge_temperature_c=20, alpha_per_k=21.5e-6
    )
    assert found == read.nm


def test_a_warm_gauge_on_a_part_that_grows_alike_reads_true():
    read = Length.of("1.6222")
    found = size_at_reference(
        read=read, temperature_c=31.5, gauge_temperature_c=31.5, alpha_per_k=11.5e-6
    )
    assert found == read.nm


@given(st.floats(-80, 300), st.floats(-20, 60), st.floats(0, 30e-6))
def test_it_is_the_printed_formula(part_c: float, gauge_c: float, alpha: float):
    found = size_at_reference(
        read=Length.of("41.12 mm"),
        temperature_c=part_c,
        gauge_temperature_c=gauge_c,
        alpha_per_k=alpha,
    )
    expected = 41.12e6 * (1 + 11.5e-6 * (gauge_c - 20)) / (1 + alpha * (part_c - 20))
    assert float(found) == pytest.approx(expected, abs=0.001)


def test_a_part_that_would_be_nothing_is_refused_by_its_field():
    with pytest.raises(CalculationError) as refused:
        size_at_reference(
            read=Length.of("41 mm"),
            temperature_c=-1e6,
            gauge_temperature_c=20,
            alpha_per_k=21.5e-6,
            temperature_field="bore_temperature_c",
        )
    assert refused.value.field == "bore_temperature_c"
