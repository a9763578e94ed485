"""What is set on the fixture, and the bore that it gives."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import ImpossibleError, MissingError
from app.calc.rules import interference
from app.calc.setting import FixtureMode, bore_from_reading, division_effect, size_setting, suits
from app.calc.units import Length

CHECKS = {
    "size_setting": "geometry of a tip beside a pilot: half the bore and half the pilot lie "
    "between their far sides; digits own, consistency only",
    "bore_from_reading": "the same geometry backwards; found again from the reading by hypothesis",
    "division_effect": "a radius counts twice on diameter (geometry)",
    "suits": "ring OD minus bore against the window, ends included (own, consistency only)",
}
DIAMETER, RADIUS, ACROSS = FixtureMode.DIAMETER, FixtureMode.RADIUS, FixtureMode.ACROSS_PILOT


def setting(mode: FixtureMode, *, pilot: str | None = ".3432", resolution: str = ".0001"):
    return size_setting(
        target_bore=Length.of("1.62215"),
        overcut=Length.of(".0003"),
        mode=mode,
        pilot=None if pilot is None else Length.of(pilot),
        resolution=Length.of(resolution),
    )


@pytest.mark.parametrize(
    ("mode", "reading", "bore"),
    [
        (DIAMETER, "1.6218", "1.6221"),
        (RADIUS, ".8109", "1.6221"),
        (ACROSS, ".9825", "1.6221"),
    ],
)
def test_the_reading_goes_down_to_a_whole_division(mode: FixtureMode, reading: str, bore: str):
    found = setting(mode)
    assert found.set_size == Length.of("1.62185")
    assert found.reading == Length.of(reading)
    assert found.expected_bore == Length.of(bore)


def test_a_metric_setting():
    found = size_setting(
        target_bore=Length.of("41.120 mm"),
        overcut=Length.of("0.012 mm"),
        mode=ACROSS,
        pilot=Length.of("6.980 mm"),
        resolution=Length.of("0.001 mm"),
        unit="mm",
    )
    assert found.set_size == Length.of("41.108 mm")
    assert found.reading == Length.of("24.044 mm")
    assert found.expected_bore == Length.of("41.120 mm")


def test_all_three_readings_are_of_the_size_that_is_set():
    assert [one.shown("in") for one in setting(RADIUS).by_mode] == [
        "1.6218",
        ".8109",
        ".9825",
    ]
    assert [one.mode for one in setting(RADIUS, pilot=None).by_mode] == [DIAMETER, RADIUS]


def test_across_the_pilot_needs_the_pilot():
    with pytest.raises(MissingError) as refused:
        setting(ACROSS, pilot=None)
    assert refused.value.field == "pilot"
    with pytest.raises(MissingError):
        bore_from_reading(reading=Length.of(".98"), mode=ACROSS, pilot=None, overcut=Length(0))


def test_what_cannot_be_set_is_refused():
    with pytest.raises(ImpossibleError):
        setting(DIAMETER, resolution="0")
    with pytest.raises(ImpossibleError):
        size_setting(
            target_bore=Length.of(".01"),
            overcut=Length.of(".01"),
            mode=DIAMETER,
            pilot=None,
            resolution=Length.of(".0001"),
        )


def test_one_division_of_radius_is_two_of_bore():
    division = Length.of(".0005")
    assert division_effect(mode=DIAMETER, resolution=division) == division
    assert division_effect(mode=RADIUS, resolution=division) == Length.of(".0010")
    assert division_effect(mode=ACROSS, resolution=division) == Length.of(".0010")


def test_a_pilot_entered_too_small_cuts_larger_than_worked_and_the_reading_doubles():
    def bore(reading: str, pilot: str) -> Length:
        return bore_from_reading(
            reading=Length.of(reading), mode=ACROSS, pilot=Length.of(pilot), overcut=Length(0)
        )

    assert bore(".9830", ".3432") - bore(".9825", ".3432") == Length.of(".0010")
    assert bore(".9825", ".3434") - bore(".9825", ".3432") == Length.of("-.0002")


lengths = st.integers(10_000_000, 150_000_000).map(Length)


@given(
    lengths,
    st.integers(-500_000, 500_000).map(Length),
    st.sampled_from(FixtureMode),
    st.integers(3_000_000, 25_000_000).map(Length),
    st.integers(100, 1_000_000).map(Length),
    st.sampled_from(["in", "mm"]),
)
def test_the_expected_bore_is_never_over_the_target_nor_a_whole_step_under(
    target: Length,
    overcut: Length,
    mode: FixtureMode,
    pilot: Length,
    resolution: Length,
    unit: str,
):
    found = size_setting(
        target_bore=target,
        overcut=overcut,
        mode=mode,
        pilot=pilot,
        resolution=resolution,
        unit=unit,
    )
    assert found.reading.nm % resolution.nm == 0
    assert Length(0) <= target - found.expected_bore < found.bore_per_division
    assert found.expected_bore == bore_from_reading(
        reading=found.reading, mode=mode, pilot=pilot, overcut=overcut
    )
    figures = {step.symbol: Fraction(step.value) for step in found.working if step.symbol}
    assert figures["B"] - figures["k"] == figures["D_set"]
    half = {DIAMETER: 1, RADIUS: 2, ACROSS: 2}[mode]
    assert figures[mode.formula] * half == figures["D_set"] + figures.get("d", 0)


def test_a_setting_suits_a_position_up_to_both_ends_of_its_window():
    iron = interference(least=Length.of(".003"), most=Length.of(".005"))

    def is_suited(bore: str) -> bool:
        return suits(expected_bore=Length.of(bore), ring_od=Length.of("1.6261"), window=iron)

    assert [is_suited(bore) for bore in ("1.6210", "1.6211", "1.6231", "1.6232")] == [
        False,
        True,
        True,
        False,
    ]
