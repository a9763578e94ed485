"""What a gauge should read today."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.gauge import gauge_today, part_today, reading_at, shown_number, shown_ppm
from app.calc.materials import HEAD_EXPANSION, RING_MATERIALS, Expansion, HeadMaterial
from app.calc.sources import Mark, Source
from app.calc.temperature import size_at_reference
from app.calc.units import Length

CHECKS = {
    "gauge_today": "ISO 1:2016 with the expansions of Callister, table B.6, worked in decimals",
    "part_today": "the same, of bronze and a scale 10 degrees off",
    "reading_at": "the same, and found again by working backwards",
    "shown_number": "decimal notation",
    "shown_ppm": "as Callister, table B.6, prints it: 21.5 for cast aluminium 356",
}


def shift(material: HeadMaterial, head_c: float, gauge_c: float = 20) -> Length:
    return gauge_today(
        target_bore=Length.of("1.6250"),
        head_material=material,
        head_temperature_c=head_c,
        gauge_temperature_c=gauge_c,
    ).shift


@pytest.mark.parametrize(
    ("material", "thou"), [(HeadMaterial.ALUMINIUM, ".0007"), (HeadMaterial.GREY_IRON, ".0004")]
)
def test_a_head_20_degrees_warm_reads_large(material: HeadMaterial, thou: str):
    assert shift(material, 40).inches(4) == thou


def test_a_head_at_20_degrees_reads_its_target():
    assert shift(HeadMaterial.ALUMINIUM, 20) == Length(0)


def test_iron_and_a_gauge_equally_warm_hardly_differ():
    assert abs(shift(HeadMaterial.GREY_IRON, 32, 32)) < Length.of(".00001")


def test_the_reading_is_the_textbook_growth():
    found = gauge_today(
        target_bore=Length.of("41.120 mm"),
        head_material=HeadMaterial.ALUMINIUM,
        head_temperature_c=31.5,
        gauge_temperature_c=24,
        unit="mm",
    )
    warm = Decimal(41_120_000) * (1 + Decimal("21.5e-6") * Decimal("11.5"))
    assert found.reading.nm == round(warm / (1 + Decimal("11.5e-6") * 4))
    assert found.working[-1].value == "41.1283"


def test_an_alloys_own_expansion_wins_over_its_familys():
    sheet = Source("sheet", "an alloy's data sheet", Mark.ENTERED)
    found = gauge_today(
        target_bore=Length.of("41.120 mm"),
        head_material=HeadMaterial.ALUMINIUM,
        head_temperature_c=30,
        gauge_temperature_c=20,
        alloy_expansion=Expansion(Fraction(19, 1_000_000), sheet),
        unit="mm",
    )
    assert found.shift.nm == round(41_120_000 * Decimal("19e-6") * 10)
    assert sheet.cited in {step.source for step in found.working}


@given(
    st.integers(10_000_000, 150_000_000),
    st.sampled_from(list(HEAD_EXPANSION.values())),
    st.floats(-40, 200),
    st.floats(-40, 200),
)
def test_a_reading_taken_back_to_20_degrees_is_the_size(nm, expansion, part_c, gauge_c):
    given_at = {
        "alpha_per_k": expansion.alpha_per_k,
        "temperature_c": part_c,
        "gauge_temperature_c": gauge_c,
    }
    reading = reading_at(size_nm=nm, **given_at)
    back = size_at_reference(read=Length.nearest(reading), **given_at)
    assert abs(back - nm) <= Fraction(51, 100)


def test_numbers_are_shown_as_short_as_they_are():
    assert [shown_number(one) for one in (20, 20.0, -78.5, 0.1)] == ["20", "20", "-78.5", "0.1"]
    assert shown_ppm(11.4e-6) == "11.4"


def test_a_warm_bronze_ring_reads_large_by_its_own_growth_less_the_scales():
    bronze = RING_MATERIALS["bronze"]
    assert bronze.expansion is not None
    found = part_today(
        size=Length.of("41.305 mm"),
        expansion=bronze.expansion,
        part="ring",
        material=bronze.words,
        part_temperature_c=30,
        gauge_temperature_c=30,
        unit="mm",
    )
    warm = Decimal(41_305_000) * (1 + Decimal("18e-6") * 10) / (1 + Decimal("11.5e-6") * 10)
    assert found.reading.nm == round(warm)
    assert [step.text for step in found.working][1:3] == ["ring", "bearing bronze"]
