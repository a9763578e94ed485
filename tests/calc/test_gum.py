"""The guide's end gauge to its printed digits, with two packages that know the guide."""

from fractions import Fraction

import GTC
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import t as student
from uncertainties import ufloat

from app.calc.errors import CalculationError
from app.calc.gum import (
    Combined,
    Part,
    combine_parts,
    coverage_factor,
    standard_of_division,
    standard_of_limits,
)
from app.calc.units import Length

CHECKS = {
    "combine_parts": "JCGM 100:2008 H.1, end gauge: u 32 nm, ν 16, U99 93 nm; `uncertainties` and "
    "`GTC` to all digits",
    "coverage_factor": "JCGM 100:2008, table G.2; scipy.stats.t",
    "standard_of_limits": "JCGM 100:2008, 4.3.7; variance of `GTC.type_b.uniform`",
    "standard_of_division": "JCGM 100:2008, F.2.2.1; variance of `GTC.type_b.uniform`",
}

# JCGM 100:2008 H.1.3, as two public test suites cite it; lengths in nm.
STANDARD, STANDARD_U, STANDARD_NU = "50000623", "25", 18
DIFFERENCE, DIFFERENCE_U, DIFFERENCE_NU = "215", "9.7", "25.6"
ALPHA, ALPHA_U = "11.5e-6", "1.2e-6"
THETA, THETA_U = "-0.1", "0.41"
OFF_ALPHA_U, OFF_ALPHA_NU = "0.58e-6", 50
OFF_THETA_U, OFF_THETA_NU = "0.029", 2


def end_gauge(level: float | None = 0.99) -> Combined:
    """l = l_s + d − l_s·(δα·θ + α·δθ), linearised at δα = δθ = 0."""
    length = Fraction(STANDARD)
    return combine_parts(
        parts=[
            Part("l_s", "standard", Fraction(STANDARD_U) ** 2, "given", Fraction(STANDARD_NU)),
            Part("d", "comparison", Fraction(DIFFERENCE_U) ** 2, "given", Fraction(DIFFERENCE_NU)),
            Part(
                "δα",
                "expansions apart",
                (length * Fraction(THETA) * Fraction(OFF_ALPHA_U)) ** 2,
                "given",
                Fraction(OFF_ALPHA_NU),
            ),
            Part(
                "δθ",
                "temperatures apart",
                (length * Fraction(ALPHA) * Fraction(OFF_THETA_U)) ** 2,
                "given",
                Fraction(OFF_THETA_NU),
            ),
        ],
        level=level,
        unit="mm",
    )


def test_the_guides_printed_digits():
    """JCGM 100:2008 H.1.4 to H.1.6."""
    found = end_gauge()
    assert round(found.standard_nm) == 32
    assert found.standard_nm == pytest.approx(31.711, abs=5e-4)
    assert found.degrees_of_freedom is not None
    assert int(found.degrees_of_freedom) == 16
    assert found.coverage_factor == pytest.approx(2.92, abs=5e-3)
    assert found.expanded.nm == 93


def test_the_package_uncertainties_agrees():
    length = ufloat(float(STANDARD), float(STANDARD_U))
    difference = ufloat(float(DIFFERENCE), float(DIFFERENCE_U))
    alpha, theta = ufloat(float(ALPHA), float(ALPHA_U)), ufloat(float(THETA), float(THETA_U))
    off_alpha, off_theta = ufloat(0, float(OFF_ALPHA_U)), ufloat(0, float(OFF_THETA_U))
    whole = length + difference - length * (off_alpha * theta + alpha * off_theta)
    assert end_gauge().standard_nm == pytest.approx(whole.std_dev, rel=1e-12)


def test_the_package_gtc_agrees_with_its_degrees_of_freedom():
    length = GTC.ureal(float(STANDARD), float(STANDARD_U), STANDARD_NU)
    difference = GTC.ureal(float(DIFFERENCE), float(DIFFERENCE_U), float(DIFFERENCE_NU))
    alpha = GTC.ureal(float(ALPHA), float(ALPHA_U))
    theta = GTC.ureal(float(THETA), float(THETA_U))
    off_alpha = GTC.ureal(0, float(OFF_ALPHA_U), OFF_ALPHA_NU)
    off_theta = GTC.ureal(0, float(OFF_THETA_U), OFF_THETA_NU)
    whole = length + difference - length * (off_alpha * theta + alpha * off_theta)
    found = end_gauge()
    assert found.standard_nm == pytest.approx(whole.u, rel=1e-12)
    assert found.degrees_of_freedom == pytest.approx(whole.df, rel=1e-9)


def test_the_parts_are_the_guides():
    """JCGM 100:2008 table H.1: 25, 9.7, 2.9, 16.6 nm; to the nanometre."""
    found = end_gauge()
    assert [part.standard.nm for part in found.inputs["parts"]] == [25, 10, 3, 17]
    assert [step.symbol for step in found.working] == ["l_s", "d", "δα", "δθ", "u", "U"]


def test_without_a_level_k_is_2():
    found = end_gauge(level=None)
    assert found.coverage_factor == 2
    assert found.expanded.nm == round(2 * found.standard_nm)


@pytest.mark.parametrize(
    ("freedom", "level", "tabled"),
    [
        (1, 0.99, 63.66),
        (2, 0.9545, 4.53),
        (4, 0.95, 2.78),
        (10, 0.95, 2.23),
        (16, 0.99, 2.92),
        (50, 0.9973, 3.16),
        (None, 0.9973, 3.0),
    ],
)
def test_factors_are_the_guides_table(freedom, level, tabled):
    """JCGM 100:2008, table G.2."""
    found = coverage_factor(level=level, degrees_of_freedom=freedom)
    assert found == pytest.approx(tabled, abs=6e-3)


@given(st.integers(1, 300), st.floats(0.01, 0.9999))
def test_factors_are_students(freedom: int, level: float):
    """scipy.stats.t."""
    expected = float(student.ppf((1 + level) / 2, freedom))
    found = coverage_factor(level=level, degrees_of_freedom=freedom)
    assert found == pytest.approx(expected, rel=1e-7)


def test_where_students_factor_is_left_for_the_normal_one_they_agree():
    just = coverage_factor(level=0.99, degrees_of_freedom=9_999)
    assert just == pytest.approx(coverage_factor(level=0.99, degrees_of_freedom=None), rel=2e-4)


@given(st.integers(0, 10_000_000))
def test_limits_and_divisions_are_uniform(width: int):
    """`GTC`: a uniform distribution of half width a has u = a/√3."""
    of_limits = GTC.type_b.uniform(float(width)) ** 2
    assert float(standard_of_limits(half_width=Length(width))) == pytest.approx(of_limits)
    of_division = GTC.type_b.uniform(width / 2) ** 2
    assert float(standard_of_division(division=Length(width))) == pytest.approx(of_division)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"parts": []}, "parts"),
        ({"parts": [Part("a", "one", Fraction(-1), "given")]}, "parts"),
        ({"level": 1.0}, "level"),
        ({"level": 0.0}, "level"),
    ],
)
def test_what_cannot_be_combined_is_refused(change: dict, field: str):
    asked = {"parts": [Part("a", "one", Fraction(1), "given")], "level": 0.95}
    with pytest.raises(CalculationError) as refused:
        combine_parts(**{**asked, **change})
    assert refused.value.field == field


def test_less_than_one_degree_of_freedom_is_refused():
    with pytest.raises(CalculationError) as refused:
        coverage_factor(level=0.95, degrees_of_freedom=0.9)
    assert refused.value.field == "degrees_of_freedom"
