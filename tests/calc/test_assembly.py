"""Cold ring, warm head: curves from outside, exact inverses, and the trade's table."""

from fractions import Fraction

import pytest
import spacemat
from hypothesis import assume, given
from hypothesis import strategies as st

from app.calc.assembly import CHILLS, HEAD_CAP_C, Assembly, Way, assembly, chilled_to
from app.calc.errors import CalculationError, MissingError
from app.calc.expansion import Curve
from app.calc.materials import HeadMaterial
from app.calc.units import Length

CHECKS = {
    "assembly": "NIST cryogenic material properties by `spacemat`; computed trade figures on "
    "1.625 in (consistency); the temperature put back in gives the clearance exactly",
    "chilled_to": "CODATA: nitrogen boils at -195.8 °C, carbon dioxide sublimes at -78.5 °C "
    "(from memory)",
}

ONE_AND_FIVE_EIGHTHS = Length.of("1.625")
ALUMINIUM, IRON = 22e-6, 11.4e-6


def put_in(
    thou: float, head_c: float, ring_c: float, head_alpha: float = ALUMINIUM, **others
) -> Assembly:
    asked = {"curve": Curve.NICKEL_STEEL_9, **others}
    if "alpha_per_k" in others:
        del asked["curve"]
    return assembly(
        diameter=ONE_AND_FIVE_EIGHTHS,
        interference=Length.of(f"{thou} thou"),
        head_alpha_per_k=head_alpha,
        ring_c=ring_c,
        head_c=head_c,
        clearance_wanted=Length.of(".001"),
        **asked,
    )


@pytest.mark.parametrize(
    ("thou", "head_c", "ring_c", "head_alpha", "clearance", "way"),
    [
        (5, 100, -18, ALUMINIUM, -1.4, Way.LIGHT_DRIVE),
        (7, 120, -78.5, ALUMINIUM, -1.7, Way.LIGHT_DRIVE),
        (8, 120, -78.5, ALUMINIUM, -2.7, Way.LIGHT_DRIVE),
        (8, 150, -78.5, ALUMINIUM, -1.7, Way.LIGHT_DRIVE),
        (8, 150, -196, ALUMINIUM, -0.2, Way.LIGHT_DRIVE),
        (7, 155, -196, ALUMINIUM, 1.0, Way.LIGHT_DRIVE),
        (4, 20, -196, IRON, -0.8, Way.LIGHT_DRIVE),
        (4, 90, -78.5, IRON, -1.0, Way.LIGHT_DRIVE),
    ],
)
def test_the_trades_table_comes_out(thou, head_c, ring_c, head_alpha, clearance, way):
    """Computed trade figures (consistency): a tenth of a thou or two, by another curve."""
    found = put_in(thou, head_c, ring_c, head_alpha)
    assert found.clearance.nm / 25_400 == pytest.approx(clearance, abs=0.15)
    assert found.way is way


def test_stainless_in_liquid_nitrogen_shrinks_by_the_published_curve():
    """`spacemat`, 304 at 77.15 K, contraction in per cent."""
    found = put_in(7, 20, -196, curve=Curve.STAINLESS_304)
    theirs = next(
        one.curves["thermal_contraction_pct"]
        for one in spacemat.load_all()
        if "304" in one.name and "thermal_contraction_pct" in one.curves
    )
    expected = 41.275 * theirs.at(77.15) / 100
    assert found.ring_shrinks_by.nm * 1e-6 == pytest.approx(expected, rel=2e-3)


def test_a_coefficient_shrinks_evenly_from_twenty_degrees():
    found = put_in(4, 20, -30, IRON, alpha_per_k=12e-6)
    assert found.ring_shrinks_by == Length.nearest(41_275_000 * Fraction(12, 1_000_000) * 50)
    assert found.head_grows_by == Length(0)


@given(
    st.integers(10_000_000, 150_000_000),
    st.integers(0, 1_000_000),
    st.integers(0, 1_000_000),
    st.integers(-200, 20),
    st.integers(1, 300),
)
def test_the_temperature_needed_gives_the_wanted_clearance(
    diameter, interference, wanted, ring_c, tenths
):
    asked = {
        "diameter": Length(diameter),
        "interference": Length(interference),
        "alpha_per_k": 11.3e-6,
        "head_alpha_per_k": Fraction(tenths, 10_000_000),
        "ring_c": ring_c,
        "clearance_wanted": Length(wanted),
    }
    needed = assembly(head_c=20, **asked).head_c_needed
    assert needed is not None
    there = assembly(head_c=needed, **asked)
    assert abs(there.clearance.nm - wanted) <= 1
    assume(needed > 20)
    warm = assembly(head_c=needed + 1, **asked)
    assert warm.way is Way.DROPS_IN


def test_the_ways_turn_where_they_are_said_to():
    """Clearance ≥ wanted drops in; under −interference/2 it is pressed."""

    def way(clearance_nm: int) -> Way:
        per_nm = Fraction(clearance_nm + 100_000, 41_275_000)
        return assembly(
            diameter=ONE_AND_FIVE_EIGHTHS,
            interference=Length(100_000),
            alpha_per_k=per_nm,
            head_alpha_per_k=0,
            ring_c=19,
            head_c=20,
            clearance_wanted=Length(25_000),
        ).way

    assert way(25_000) is Way.DROPS_IN
    assert way(24_999) is Way.LIGHT_DRIVE
    assert way(-50_000) is Way.LIGHT_DRIVE
    assert way(-50_001) is Way.PRESS


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_the_shown_lines_add_up(unit: str):
    steps = {step.symbol: step.value for step in put_in(7, 133, -78.5, unit=unit).working}
    total = Fraction(steps["s"]) + Fraction(steps["g"]) - Fraction(steps["I"])
    assert total == Fraction(steps["c"])


def test_a_head_that_does_not_expand_needs_no_temperature_that_exists():
    found = put_in(7, 100, -18, 0)
    assert found.head_c_needed is None
    assert found.head_c_to_follow is None


def test_a_head_that_hardly_expands_is_no_fault():
    assert put_in(7, 100, -18, 5e-324).head_c_needed is None


def test_uncapped_the_temperature_is_a_plain_answer():
    found = put_in(9, 20, -18)
    assert found.head_c_needed == pytest.approx(280, abs=5)
    assert "not capped" in found.working[-1].text


@given(st.floats(0, 15), st.sampled_from([-18, -78.5, -196]), st.integers(60, 200))
def test_no_head_temperature_above_the_cap_is_ever_given_to_follow(thou, ring_c, cap):
    found = put_in(round(thou, 2), 20, ring_c, head_cap_c=cap)
    if found.head_c_to_follow is not None:
        assert 20 < found.head_c_to_follow <= cap
    shown = [step.value for step in found.working if step.unit == "°C"]
    assert all(float(value) <= cap for value in shown)
    assert found.is_capped == (found.head_c_needed is not None and found.head_c_needed > cap)
    if found.head_c_to_follow and not found.is_capped:
        assert found.way_to_follow is Way.DROPS_IN


def test_over_the_cap_it_says_how_the_ring_goes_at_the_cap():
    found = put_in(8, 20, -78.5, head_cap_c=150)
    assert found.head_c_needed is not None
    assert found.head_c_needed > 150
    assert (found.head_c_to_follow, found.is_capped) == (150, True)
    assert found.way_to_follow is Way.LIGHT_DRIVE
    assert "above the cap" in found.working[-1].text


def test_when_cold_alone_is_enough_no_heat_is_named():
    found = put_in(1, 20, -196, head_cap_c=150)
    assert found.way is Way.DROPS_IN
    assert (found.head_c_to_follow, found.is_capped) == (None, False)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"curve": None}, "ring"),
        ({"alpha_per_k": 1e-5}, "ring"),
        ({"ring_c": -270}, "ring_c"),
        ({"ring_c": 20}, "ring_c"),
        ({"head_c": 151, "head_cap_c": 150}, "head_c"),
        ({"head_cap_c": 20}, "head_cap_c"),
    ],
)
def test_what_cannot_be_asked_is_refused(change: dict, field: str):
    asked = {
        "diameter": ONE_AND_FIVE_EIGHTHS,
        "interference": Length.of(".007"),
        "curve": Curve.NICKEL_STEEL_9,
        "head_alpha_per_k": ALUMINIUM,
        "ring_c": -78.5,
        "head_c": 20,
        "clearance_wanted": Length.of(".001"),
    }
    with pytest.raises(CalculationError) as refused:
        assembly(**{**asked, **change})
    assert refused.value.field == field


def test_chills_are_as_cold_as_they_boil_or_sublime():
    assert chilled_to(chill="liquid_nitrogen") == pytest.approx(-195.8, abs=0.3)
    assert chilled_to(chill="dry_ice") == -78.5
    assert [chill.key for chill in CHILLS.values()] == list(CHILLS)
    with pytest.raises(MissingError):
        chilled_to(chill="helium")


def test_aluminium_is_capped_at_150():
    assert HEAD_CAP_C[HeadMaterial.ALUMINIUM] == 150
