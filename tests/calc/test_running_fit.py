"""What heat does to the fit: exact arithmetic, quantities with units, and the trade's figures."""

from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import CalculationError, MissingError
from app.calc.hot_expansion import RING_POINTS, constant_expansion
from app.calc.materials import HeadMaterial
from app.calc.running_fit import Case, CaseFit, case_at, heat_cases, running_fit
from app.calc.sources import SINTERED_ABSTRACT
from app.calc.units import Length

CHECKS = {
    "running_fit": "`pint` quantities with delta degrees; computed trade figures on 1.625 in "
    "(consistency)",
    "heat_cases": "computed trade figures: an aluminium exhaust fit loses about .001 in running, "
    "an iron one gains (consistency)",
    "case_at": "data sheet of casting alloy A356.0; Callister's table B.6",
}

UREG = pint.UnitRegistry(non_int_type=Fraction)
ONE_AND_FIVE_EIGHTHS = Length.of("1.625")


def fit_of(
    ring_c: float,
    head_c: float,
    ring_alpha: float,
    head_alpha: float,
    interference: Length = ONE_AND_FIVE_EIGHTHS,
    diameter: Length = ONE_AND_FIVE_EIGHTHS,
) -> CaseFit:
    case = Case("one", ring_c, head_c, ring_alpha, head_alpha)
    return running_fit(diameter=diameter, interference=interference, cases=[case]).cases[0]


@pytest.mark.parametrize(
    ("ring_c", "head_c", "ring_alpha", "head_alpha", "thou"),
    [
        (300, 200, 11.8e-6, 11.4e-6, 2.0),
        (400, 250, 11.8e-6, 11.4e-6, 3.0),
        (250, 170, 11.8e-6, 22e-6, -0.95),
        (300, 200, 11.8e-6, 22e-6, -1.1),
        (180, 150, 11.8e-6, 22e-6, -1.6),
        (200, 200, 11.8e-6, 22e-6, -3.0),
        (250, 250, 11.8e-6, 22e-6, -3.8),
        (-30, -30, 11.8e-6, 22e-6, 0.8),
        (300, 200, 16.7e-6, 11.4e-6, 4.3),
        (400, 250, 16.7e-6, 11.4e-6, 6.1),
        (250, 250, 16.7e-6, 22e-6, -1.9),
    ],
)
def test_the_trades_hot_changes_come_out(ring_c, head_c, ring_alpha, head_alpha, thou):
    """Computed trade figures on 1.625 in, to the digit that they print (consistency)."""
    found = fit_of(ring_c, head_c, ring_alpha, head_alpha)
    assert found.change.nm / 25_400 == pytest.approx(thou, abs=0.12)


def test_a_light_aluminium_fit_is_nearly_gone_in_a_hot_soak_and_a_full_one_is_not():
    """Computed trade figures: .004 leaves .0010, .007 leaves .0040 (consistency)."""
    light = fit_of(200, 200, 11.8e-6, 22e-6, interference=Length.of(".004"))
    full = fit_of(200, 200, 11.8e-6, 22e-6, interference=Length.of(".007"))
    assert light.interference.inches(4) == ".0010"
    assert full.interference.inches(4) == ".0040"


@given(
    st.integers(10_000_000, 150_000_000),
    st.integers(0, 1_000_000),
    st.integers(-200, 600),
    st.integers(-200, 600),
    st.integers(0, 300),
    st.integers(0, 300),
)
def test_quantities_with_units_give_the_same(diameter, interference, ring_c, head_c, r, h):
    grown = [
        Fraction(diameter)
        * UREG.nanometer
        * (Fraction(alpha, 10_000_000) / UREG.delta_degC)
        * (Fraction(t - 20) * UREG.delta_degC)
        for alpha, t in ((r, ring_c), (h, head_c))
    ]
    expected = (grown[0] - grown[1]).to(UREG.nanometer).magnitude
    found = fit_of(
        ring_c, head_c, r / 10_000_000, h / 10_000_000, Length(interference), Length(diameter)
    )
    assert found.change == Length.nearest(expected)
    assert found.interference == Length.nearest(interference + expected)


def test_nothing_changes_at_twenty_degrees():
    found = fit_of(20, 20, 11.8e-6, 22e-6, interference=Length.of(".004"))
    assert found == CaseFit("one", Length.of(".004"), Length(0), is_warm=False)


def test_a_case_that_lets_go_is_a_clearance():
    assert fit_of(20, 300, 11.8e-6, 22e-6, interference=Length.of(".004")).interference.nm < 0


def test_cases_come_in_the_order_asked_and_may_share_a_name():
    cases = [Case("b", 30, 30, 1e-5, 2e-5), Case("a", 40, 40, 1e-5, 2e-5)] * 2
    found = running_fit(diameter=Length.of("41 mm"), interference=Length.of("0.1 mm"), cases=cases)
    assert [one.name for one in found.cases] == ["b", "a", "b", "a"]
    assert len(found.working) == 3 * len(cases)


@pytest.mark.parametrize("unit", ["in", "mm"])
@given(st.integers(0, 1_000_000), st.integers(-200, 500), st.integers(-200, 500))
def test_the_shown_lines_add_up(unit: str, interference: int, ring_c: int, head_c: int):
    case = Case("one", ring_c, head_c, 11.8e-6, 21.5e-6)
    found = running_fit(
        diameter=Length.of("41.3 mm"), interference=Length(interference), cases=[case], unit=unit
    )
    start, change, left = (Fraction(step.value) for step in found.working)
    assert start + change == left


def test_no_case_is_no_question():
    with pytest.raises(CalculationError) as refused:
        running_fit(diameter=Length.of("41 mm"), interference=Length(0), cases=[])
    assert refused.value.field == "cases"


@pytest.mark.parametrize(
    ("material", "is_exhaust", "low", "high"),
    [
        (HeadMaterial.ALUMINIUM, True, -1.5, -0.7),
        (HeadMaterial.ALUMINIUM, False, -2.1, -1.2),
        (HeadMaterial.GREY_IRON, True, 1.5, 2.5),
        (HeadMaterial.DUCTILE_IRON, True, 1.5, 2.8),
    ],
)
def test_running_loosens_in_aluminium_and_tightens_in_iron(material, is_exhaust, low, high):
    cases = heat_cases(
        head_material=material, is_exhaust=is_exhaust, ring_points=RING_POINTS["grey_iron"]
    )
    found = running_fit(
        diameter=ONE_AND_FIVE_EIGHTHS, interference=Length.of(".007"), cases=cases
    ).cases
    assert [one.name for one in found] == ["cold start", "running", "hard", "overheated"]
    assert low < found[1].change.nm / 25_400 < high


def test_an_overheat_takes_most_of_an_aluminium_fit():
    cases = heat_cases(
        head_material=HeadMaterial.ALUMINIUM,
        is_exhaust=True,
        ring_points=constant_expansion(alpha_per_k=11.8e-6, source=SINTERED_ABSTRACT),
    )
    found = running_fit(
        diameter=ONE_AND_FIVE_EIGHTHS, interference=Length.of(".007"), cases=cases
    ).cases[-1]
    assert found.change.nm / 25_400 == pytest.approx(-4.2, abs=0.1)
    assert Length(0) < found.interference < Length.of(".003")


def test_every_assumed_temperature_says_that_it_is_assumed():
    cases = heat_cases(
        head_material=HeadMaterial.GREY_IRON, is_exhaust=True, ring_points=RING_POINTS["bronze"]
    )
    assert all("assumed temperatures" in case.source for case in cases)


def test_without_the_rings_expansion_there_is_no_hot_figure():
    with pytest.raises(MissingError) as refused:
        heat_cases(head_material=HeadMaterial.GREY_IRON, is_exhaust=True, ring_points=())
    assert refused.value.field == "ring_alpha_per_k"


def test_a_shops_own_case_takes_the_expansions_of_its_temperatures():
    case = case_at(
        name="soak",
        ring_c=200,
        head_c=250,
        head_material=HeadMaterial.ALUMINIUM,
        ring_points=RING_POINTS["stainless"],
    )
    assert float(case.head_alpha_per_k) == 23.0e-6
    assert 17.2e-6 < float(case.ring_alpha_per_k) < 17.8e-6
    assert case.source.startswith("as given")
