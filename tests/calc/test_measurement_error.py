"""Error of a measured interference against a simulated shop."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from app.calc.decision import DecisionRule
from app.calc.errors import CalculationError
from app.calc.measurement_error import (
    Gauge,
    InterferenceError,
    Taken,
    interference_error,
    size_error,
    thermal_error,
)
from app.calc.units import Length
from app.calc.verify import verify

CHECKS = {
    "size_error": "JCGM 100:2008, 4.3.7, F.2.2.1 and 4.2.3; Monte Carlo",
    "thermal_error": "Monte Carlo of D·(1 + α_g·t_g)/(1 + α·t)",
    "interference_error": "JCGM 101:2008: Monte Carlo of the whole measurement",
}

D = Length.of("1.625")
RUNS = 200_000


def um(size: float) -> Length:
    return Length.of(str(size), "um")


MICROMETER = Gauge(greatest_error=um(2), division=um(1), master=um(1))
BORE_GAUGE = Gauge(greatest_error=um(3), division=um(2), master=um(1))
RING = Taken(MICROMETER, 4, um(3), 24, 11.4e-6, 1e-6)
BORE = Taken(BORE_GAUGE, 3, um(4), 26, 21.5e-6, 2e-6)


def simulated(
    ring: Taken,
    bore: Taken,
    *,
    shares_master: bool = False,
    within_k: float = 2,
    is_one_thermometer: bool = False,
    only: str = "all",
) -> float:
    """Twice the standard deviation of ring OD − bore, in nm, every error drawn for itself."""
    rng = np.random.default_rng(101)

    def limits(half: float) -> np.ndarray:
        return rng.uniform(-half, half, RUNS) if half else np.zeros(RUNS)

    shop = limits(within_k)
    one_master = rng.normal(0, ring.gauge.master.nm / 2, RUNS)
    sizes = []
    for taken in (ring, bore):
        gauge = taken.gauge
        by_gauge = np.zeros(RUNS)
        if only != "heat":
            own = rng.normal(0, gauge.master.nm / 2, RUNS)
            by_gauge = (
                limits(max(gauge.greatest_error.nm, abs(gauge.check_error.nm)))
                + limits(gauge.division.nm / 2)
                + (one_master if shares_master else own)
                + rng.normal(0, taken.repeatability.nm / 2, (taken.readings, RUNS)).mean(axis=0)
            )
        true_t = taken.temperature_c + (shop if is_one_thermometer else limits(within_k))
        true_g = taken.temperature_c + (shop if is_one_thermometer else limits(within_k))
        alpha = taken.alpha_per_k + limits(taken.alpha_within_per_k)
        read = D.nm + by_gauge
        if only == "gauges":
            sizes.append(read)
        else:
            sizes.append(read * (1 + 11.5e-6 * (true_g - 20)) / (1 + alpha * (true_t - 20)))
    return float(2 * np.std(sizes[0] - sizes[1]))


def worked(ring: Taken = RING, bore: Taken = BORE, **change) -> InterferenceError:
    asked = {"shares_master": False, "within_k": 2, "is_one_thermometer": False, **change}
    return interference_error(diameter=D, ring=ring, bore=bore, **asked)


@pytest.mark.parametrize("shares_master", [True, False])
@pytest.mark.parametrize("is_one_thermometer", [True, False])
def test_a_simulated_shop_errs_as_much(shares_master: bool, is_one_thermometer: bool):
    how = {"shares_master": shares_master, "is_one_thermometer": is_one_thermometer}
    assert worked(**how).expanded.nm == pytest.approx(simulated(RING, BORE, **how), rel=0.01)


def test_gauges_alone_agree_with_a_simulated_shop():
    expected = simulated(RING, BORE, only="gauges")
    squared = size_error(taken=RING).squared_nm2 + size_error(taken=BORE).squared_nm2
    assert float(squared) ** 0.5 == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize("is_one_thermometer", [True, False])
def test_heat_alone_agrees_with_a_simulated_shop(is_one_thermometer: bool):
    found = thermal_error(
        diameter=D, ring=RING, bore=BORE, within_k=2, is_one_thermometer=is_one_thermometer
    )
    expected = simulated(RING, BORE, only="heat", is_one_thermometer=is_one_thermometer)
    assert found.expanded.nm == pytest.approx(expected, rel=0.01)


def test_the_guides_own_distributions():
    """JCGM 100:2008: a/√3 for limits, d/√12 for a division, 1/√n for a mean."""
    gauge = Gauge(greatest_error=um(3), division=um(6), master=um(4))
    found = size_error(taken=Taken(gauge, 4, um(8), 20, 0, 0))
    assert found.squared_nm2 == 4 * (3 + 3 + 4 + 4) * 1_000**2
    assert found.expanded.nm == round(2_000 * 14**0.5)


def test_the_last_check_counts_when_it_found_more_than_the_instrument_may_err():
    worn = replace(RING, gauge=replace(MICROMETER, check_error=um(-5)))
    held = replace(RING, gauge=replace(MICROMETER, check_error=um(1)))
    assert size_error(taken=held).expanded == size_error(taken=RING).expanded
    found = size_error(taken=worn)
    assert found.expanded > size_error(taken=RING).expanded
    assert "as its last check found" in found.working[0].text


def test_a_shared_master_is_taken_out_and_listed():
    apart, together = worked(shares_master=False), worked(shares_master=True)
    assert apart.squared_nm2 - together.squared_nm2 == 2 * um(1).nm ** 2
    assert together.shared_master == um(1)
    assert any("taken out twice" in step.text for step in together.working)


def test_one_thermometer_for_an_iron_ring_in_iron_leaves_nothing_of_its_own_error():
    ring = replace(RING, temperature_c=20)
    bore = replace(BORE, temperature_c=20, alpha_per_k=ring.alpha_per_k)
    found = thermal_error(diameter=D, ring=ring, bore=bore, within_k=5, is_one_thermometer=True)
    assert found.expanded == Length(0)


def test_a_ring_of_unknown_expansion_read_warm_is_doubted_by_how_far_it_may_have_grown():
    unknown = replace(RING, temperature_c=30, alpha_per_k=0, alpha_within_per_k=16e-6)
    bore = replace(BORE, temperature_c=20)
    found = thermal_error(diameter=D, ring=unknown, bore=bore, within_k=0, is_one_thermometer=True)
    grown = D.nm * 16e-6 * 10
    assert found.expanded.nm == pytest.approx(2 * grown / 3**0.5, rel=1e-4)


def test_what_comes_out_goes_into_the_verdict():
    error = worked(shares_master=True)
    found = verify(
        ring_od=[Length.of("1.6261")],
        bore=[Length.of("1.6221")],
        interference_min=Length.of(".003"),
        interference_max=Length.of(".005"),
        ring_uncertainty=error.ring,
        bore_uncertainty=error.bore,
        shared_master=error.shared_master,
        temperature_uncertainty=error.temperature,
        decision_rule=DecisionRule.FULL_GUARD,
    )
    assert abs((found.uncertainty - error.expanded).nm) <= 2


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"ring": replace(RING, readings=0)}, "ring.readings"),
        ({"bore": replace(BORE, repeatability=Length(-1))}, "bore.repeatability"),
        (
            {"bore": replace(BORE, gauge=replace(BORE_GAUGE, greatest_error=Length(-1)))},
            "bore.greatest_error",
        ),
        ({"ring": replace(RING, gauge=replace(MICROMETER, division=Length(-1)))}, "ring.division"),
        ({"ring": replace(RING, gauge=replace(MICROMETER, master=Length(-1)))}, "ring.master"),
        ({"within_k": -1}, "within_k"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(change: dict, field: str):
    with pytest.raises(CalculationError) as refused:
        worked(**change)
    assert refused.value.field == field


def test_fractions_keep_the_square_exact():
    found = worked(within_k=Fraction(1, 3))
    assert isinstance(found.squared_nm2, Fraction)
    assert abs(float(found.squared_nm2) ** 0.5 - found.expanded.nm) <= 0.5
