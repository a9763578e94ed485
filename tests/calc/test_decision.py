"""Decision rules against published figures."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from app.calc.decision import (
    DecisionRule,
    Verdict,
    chance_within,
    false_accept_at_limit,
    guard_band,
    judge,
)
from app.calc.errors import CalculationError
from app.calc.units import Length

CHECKS = {
    "guard_band": "ISO 14253-1:2017 default, 0.83 U (published, read second-hand)",
    "judge": "contract of the verdict; every end belongs to the part that it closes",
    "chance_within": "JCGM 106:2012, clause 7 examples (from memory); scipy.stats.norm",
    "false_accept_at_limit": "ILAC-G8:09/2019: 1 U < 2.5 %, 0.83 U < 5 %, 0 < 50 %; 0.83 U 4.85 %",
}

UM = 1_000


def test_the_three_rules_keep_none_083_and_all_of_u():
    u = Length.of(".0005")
    found = {
        rule: guard_band(decision_rule=rule, uncertainty_squared_nm2=u.nm**2)
        for rule in DecisionRule
    }
    assert found == {
        DecisionRule.SIMPLE: Length(0),
        DecisionRule.ISO_14253_1_2017: Length.of(".000415"),
        DecisionRule.FULL_GUARD: Length.of(".0005"),
    }


@pytest.mark.parametrize(
    ("y", "low", "high", "u", "expected"),
    [
        (-5_470, None, -5_400, 50, 0.92),
        (509_700, 490_000, None, 8_600, 0.99),
        (13_600, 12_500, 16_300, 1_800, 0.66),
    ],
)
def test_chances_agree_with_the_guides_examples(y, low, high, u, expected):
    """JCGM 106:2012, clause 7 (from memory), in thousandths: y −5.47, 509.7 and 13.6."""
    found = chance_within(
        value=Length(y * UM),
        low=None if low is None else Length(low * UM),
        high=None if high is None else Length(high * UM),
        standard_uncertainty=Length(u * UM),
    )
    assert round(found, 2) == expected


@given(st.integers(-60_000, 60_000), st.integers(1, 30_000))
def test_chances_are_the_normal_integral(value: int, u: int):
    found = chance_within(
        value=Length(value), low=Length(0), high=Length(20_000), standard_uncertainty=Length(u)
    )
    expected = norm.cdf(20_000, value, u) - norm.cdf(0, value, u)
    assert found == pytest.approx(expected, abs=1e-12)


def test_a_chance_needs_an_uncertainty():
    with pytest.raises(CalculationError) as refused:
        chance_within(value=Length(1), low=None, high=None, standard_uncertainty=Length(0))
    assert refused.value.field == "standard_uncertainty"


def test_false_acceptance_at_the_limit_is_as_published():
    """ILAC-G8:09/2019 table: guard 1 U < 2.5 %, 0.83 U < 5 %, none 50 %; ISO 14253-1: 4.85 %."""
    full, iso, simple = (
        false_accept_at_limit(decision_rule=rule)
        for rule in (
            DecisionRule.FULL_GUARD,
            DecisionRule.ISO_14253_1_2017,
            DecisionRule.SIMPLE,
        )
    )
    assert 0.022 < full < 0.025
    assert iso == pytest.approx(0.0485, abs=5e-5)
    assert simple == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        (29, Verdict.LOOSE),
        (30, Verdict.DOUBTFUL),
        (33, Verdict.DOUBTFUL),
        (34, Verdict.INSIDE),
        (46, Verdict.INSIDE),
        (47, Verdict.DOUBTFUL),
        (50, Verdict.DOUBTFUL),
        (51, Verdict.TIGHT),
    ],
)
def test_every_end_belongs_to_the_part_it_closes(value: int, verdict: Verdict):
    found = judge(
        value=Length(value),
        least=Length(30),
        most=Length(50),
        accept_low=Length(34),
        accept_high=Length(46),
    )
    assert found is verdict


@pytest.mark.parametrize("value", [30, 40, 50])
def test_everything_in_the_window_is_doubtful_when_nothing_can_be_accepted(value: int):
    found = judge(
        value=Length(value),
        least=Length(30),
        most=Length(50),
        accept_low=Length(41),
        accept_high=Length(39),
    )
    assert found is Verdict.DOUBTFUL


def test_a_window_upside_down_is_refused():
    with pytest.raises(CalculationError) as refused:
        judge(
            value=Length(1),
            least=Length(5),
            most=Length(3),
            accept_low=Length(5),
            accept_high=Length(3),
        )
    assert refused.value.field == "interference"
