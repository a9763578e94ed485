"""Uncertainty against the guide's worked example and a simulated shop."""

import random
from statistics import stdev

import pytest

from app.calc.errors import CalculationError
from app.calc.uncertainty import (
    interference_uncertainty,
    reading_uncertainty,
    temperature_uncertainty,
)
from app.calc.units import Length

CHECKS = {
    "interference_uncertainty": "JCGM 100:2008 H.1, end gauge: parts 25, 9.7, 2.9, 16.6 nm give "
    "u 32 nm (two public test suites); Monte Carlo with a shared master",
    "reading_uncertainty": "JCGM 100:2008, 4.2.3: a mean of n readings has 1/√n; Monte Carlo",
    "temperature_uncertainty": "computed trade figures: at 20 K a 1.625 in bore reads +.0007 in in "
    "aluminium, +.0004 in in iron; Monte Carlo",
}


def test_two_gauges_of_their_own_combine_by_squares():
    found = interference_uncertainty(
        ring_uncertainty=Length.of(".0002"), bore_uncertainty=Length.of(".0003")
    )
    assert found.expanded.inches(5) == ".00036"
    assert [step.value for step in found.working] == [".00020", ".00030", ".00036"]


def test_the_guides_end_gauge_comes_out():
    """JCGM 100:2008 H.1: 25, 9.7, 2.9 and 16.6 nm together are 32 nm (here in picometres)."""
    standard_and_thermal = interference_uncertainty(
        ring_uncertainty=Length(25_000), bore_uncertainty=Length(16_600)
    ).expanded
    comparator = interference_uncertainty(
        ring_uncertainty=Length(9_700), bore_uncertainty=Length(2_900)
    ).expanded
    whole = interference_uncertainty(
        ring_uncertainty=standard_and_thermal, bore_uncertainty=comparator
    ).expanded
    assert round(whole.nm / 1000) == 32


def simulated(master_u: float, shared: bool, runs: int = 20_000) -> float:
    """k = 2 spread of OD − bore when each gauge errs by 2 µm besides its master."""
    rng = random.Random(14253)
    differences = []
    for _ in range(runs):
        master = rng.gauss(0, master_u / 2)
        other = master if shared else rng.gauss(0, master_u / 2)
        ring = master + rng.gauss(0, 1_000)
        bore = other + rng.gauss(0, 1_500)
        differences.append(ring - bore)
    return 2 * stdev(differences)


@pytest.mark.parametrize("shared", [True, False])
def test_a_shared_master_cancels_and_two_masters_do_not(shared: bool):
    master = 2_000
    found = interference_uncertainty(
        ring_uncertainty=Length(round((2_000**2 + master**2) ** 0.5)),
        bore_uncertainty=Length(round((3_000**2 + master**2) ** 0.5)),
        shared_master=Length(master if shared else 0),
    )
    assert found.expanded.nm == pytest.approx(simulated(master, shared), rel=0.02)


def test_a_master_worse_than_the_gauge_it_is_part_of_is_refused():
    with pytest.raises(CalculationError) as refused:
        interference_uncertainty(
            ring_uncertainty=Length(10), bore_uncertainty=Length(20), shared_master=Length(11)
        )
    assert refused.value.field == "shared_master"


def test_temperature_adds_to_the_rest_and_is_listed():
    found = interference_uncertainty(
        ring_uncertainty=Length.of(".0003"),
        bore_uncertainty=Length(0),
        temperature=Length.of(".0004"),
    )
    assert found.expanded == Length.of(".0005")
    assert "U_T" in [step.symbol for step in found.working]


def test_a_mean_of_many_readings_repeats_better():
    found = reading_uncertainty(instrument=Length(0), repeatability=Length.of(".0004"), readings=16)
    assert found.expanded == Length.of(".0001")
    rng = random.Random(16)
    means = [sum(rng.gauss(0, 5_080) for _ in range(16)) / 16 for _ in range(4_000)]
    assert found.expanded.nm == pytest.approx(2 * stdev(means), rel=0.03)


def test_the_instrument_itself_does_not_get_better_by_reading_again():
    found = reading_uncertainty(
        instrument=Length.of(".0001"), repeatability=Length(0), readings=1000
    )
    assert found.expanded == Length.of(".0001")


@pytest.mark.parametrize(("alpha", "expected"), [(21.5e-6, ".0007"), (11.4e-6, ".0004")])
def test_twenty_kelvin_unknown_is_what_the_trade_says_a_warm_bore_reads(alpha, expected):
    found = temperature_uncertainty(
        diameter=Length.of("1.625"),
        ring_alpha_per_k=0,
        head_alpha_per_k=alpha,
        ring_temperature_u_k=0,
        head_temperature_u_k=20,
    )
    assert found.expanded.inches(4) == expected


def test_one_thermometer_for_both_leaves_only_the_difference_of_expansion():
    same = temperature_uncertainty(
        diameter=Length.of("41 mm"),
        ring_alpha_per_k=11.4e-6,
        head_alpha_per_k=11.4e-6,
        ring_temperature_u_k=2,
        head_temperature_u_k=2,
        one_thermometer=True,
    )
    assert same.expanded == Length(0)


def test_two_thermometers_agree_with_a_simulation():
    found = temperature_uncertainty(
        diameter=Length.of("41 mm"),
        ring_alpha_per_k=11.4e-6,
        head_alpha_per_k=21.5e-6,
        ring_temperature_u_k=2,
        head_temperature_u_k=3,
    )
    rng = random.Random(20)
    errors = [
        41e6 * (21.5e-6 * rng.gauss(0, 1.5) - 11.4e-6 * rng.gauss(0, 1.0)) for _ in range(20_000)
    ]
    assert found.expanded.nm == pytest.approx(2 * stdev(errors), rel=0.02)


@pytest.mark.parametrize(
    "field",
    [
        "ring_alpha_per_k",
        "head_alpha_per_k",
        "ring_temperature_u_k",
        "head_temperature_u_k",
    ],
)
def test_a_negative_uncertainty_is_refused_by_name(field: str):
    asked = {
        "ring_alpha_per_k": 1e-5,
        "head_alpha_per_k": 2e-5,
        "ring_temperature_u_k": 1.0,
        "head_temperature_u_k": 1.0,
    }
    with pytest.raises(CalculationError) as refused:
        temperature_uncertainty(diameter=Length.of("41 mm"), **{**asked, field: -1.0})
    assert refused.value.field == field


def test_readings_below_one_are_refused():
    with pytest.raises(CalculationError) as refused:
        reading_uncertainty(instrument=Length(1), repeatability=Length(1), readings=0)
    assert refused.value.field == "readings"
