"""A tip's overcut: what its cuts say, and how little to correct."""

import random
from statistics import fmean, stdev, variance

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import CalculationError
from app.calc.overcut import (
    Cut,
    correction,
    first_pass,
    overcut,
    overcut_for_new_setting,
)
from app.calc.units import Length

CHECKS = {
    "overcut": "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 (two public test suites)",
    "overcut_for_new_setting": "Deming, Out of the Crisis (1986), p. 328, rule 2: variance doubled",
    "correction": "Grubbs (1954), corrections 1, 1/2, 1/3 leave variance 1/k (from memory)",
    "first_pass": "design rule, common practice: .002 in under until 5 cuts are known",
}

FLOW_RATES = ("49.6", "47.6", "49.9", "51.3", "47.8", "51.2", "52.6", "52.4", "53.6", "52.1")


def cut(set_size: str, measured: str) -> Cut:
    return Cut(Length.of(set_size), Length.of(measured))


def cuts_over(*thou_tenths: int) -> list[Cut]:
    start = Length.of("1.6200")
    return [Cut(start, start + Length.of(".0001") * tenths) for tenths in thou_tenths]


def test_it_works():
    learned = overcut(cuts=[cut("1.6218", "1.6221"), cut("1.6218", "1.6222")])
    assert learned.mean == Length.of(".00035")
    assert learned.count == 2
    assert learned.working[0].value == ".00035"


def test_the_chart_gives_the_handbooks_limits():
    """NIST/SEMATECH 6.3.2.2: centre 50.81, mean moving range 1.8778, limits 55.8041/45.8159."""
    base = Length.of("60 mm")
    learned = overcut(
        cuts=[Cut(base, base + Length.of(value, "mm")) for value in FLOW_RATES], unit="mm"
    )
    assert learned.chart is not None
    assert learned.chart.centre.mm(2) == "50.81"
    assert learned.chart.mean_moving_range.mm(4) == "1.8778"
    assert learned.chart.high.mm(4) == "55.8041"
    assert learned.chart.low.mm(4) == "45.8159"
    assert learned.out_of_control == ()


def test_a_cut_beyond_a_limit_is_named_by_its_place():
    learned = overcut(cuts=cuts_over(3, 3, 4, 3, 3, 4, 3, 20, 3, 3, 4, 3, 3, 4, 3))
    assert learned.out_of_control == (7,)


def test_a_single_cut_has_neither_spread_nor_chart():
    learned = overcut(cuts=[cut("1.6218", "1.6221")])
    assert learned.mean == Length.of(".0003")
    assert learned.standard_deviation is None
    assert learned.chart is None
    assert learned.out_of_control == ()


def test_no_cut_at_all_is_refused():
    with pytest.raises(CalculationError) as refused:
        overcut(cuts=[])
    assert refused.value.field == "cuts"


def test_equal_cuts_are_all_within_a_chart_of_no_width():
    learned = overcut(cuts=cuts_over(3, 3, 3))
    assert learned.chart is not None
    assert learned.chart.low == learned.chart.high == Length.of(".0003")
    assert learned.out_of_control == ()


@given(st.lists(st.integers(-500_000, 500_000), min_size=2, max_size=30))
def test_mean_and_spread_agree_with_the_standard_library(values: list[int]):
    base = Length.of("41 mm")
    learned = overcut(cuts=[Cut(base, base + Length(nm)) for nm in values])
    assert learned.mean.nm == pytest.approx(fmean(values), abs=0.5001)
    assert learned.standard_deviation is not None
    assert learned.standard_deviation.nm == pytest.approx(stdev(values), abs=0.5001)


def test_a_new_setting_uses_the_mean_and_never_the_last_cut():
    start = overcut_for_new_setting(cuts=cuts_over(2, 2, 2, 2, 7))
    assert start.overcut == Length.of(".0003")
    assert not start.little_known


def test_a_tip_without_cuts_starts_from_nothing_and_says_so():
    start = overcut_for_new_setting(cuts=[])
    assert start.overcut == Length(0)
    assert start.little_known
    assert "no cut known" in start.working[0].text


def test_four_good_cuts_are_little_and_five_are_enough():
    assert overcut_for_new_setting(cuts=cuts_over(3, 3, 3, 3)).little_known
    assert not overcut_for_new_setting(cuts=cuts_over(3, 3, 3, 3, 3)).little_known


def test_following_the_last_cut_doubles_the_variance_and_the_mean_does_not():
    """Deming (1986), p. 328: correcting each piece by its own error doubles the variance."""
    rng = random.Random(26)
    errors = [rng.gauss(0, 10_000) for _ in range(4_000)]
    base = Length.of("41 mm")
    by_last, by_mean = [], []
    history: list[Cut] = []
    for error in errors:
        if history:
            last = (history[-1].measured - history[-1].set_size).nm
            by_last.append(error - last)
        if len(history) == 200:
            history.pop(0)
        if len(history) == 199:
            used = overcut_for_new_setting(cuts=history).overcut.nm
            by_mean.append(error - used)
        history.append(Cut(base, base + Length(round(error))))
    natural = variance(errors)
    assert variance(by_last) == pytest.approx(2 * natural, rel=0.08)
    assert variance(by_mean) == pytest.approx(natural, rel=0.06)


def test_corrections_shrink_as_one_half_third():
    error = Length.of(".0006")
    found = [correction(error=error, earlier_cuts=n).correction for n in range(3)]
    assert found == [Length.of("-.0006"), Length.of("-.0003"), Length.of("-.0002")]


@pytest.mark.parametrize("error", [".0002", "-.0002", ".0001", "0"])
def test_an_error_in_the_dead_band_is_left_alone(error: str):
    found = correction(error=Length.of(error), earlier_cuts=0)
    assert found.leave_alone
    assert found.correction == Length(0)
    assert "leave it alone" in found.working[-1].text


@pytest.mark.parametrize("error", [".00021", "-.00021"])
def test_an_error_just_beyond_the_dead_band_is_corrected_against_its_sign(error: str):
    found = correction(error=Length.of(error), earlier_cuts=0)
    assert not found.leave_alone
    assert found.correction == -Length.of(error)


def test_shrinking_corrections_end_at_the_mean_of_all_errors():
    """Grubbs (1954): after k corrections 1, 1/2, … 1/k the setting stands at the mean of k cuts,
    so its variance is σ²/k."""
    offset, setting = Length.of(".0012"), Length(0)
    noise = [Length.of(text) for text in (".0003", "-.0004", ".0006", "-.0001", ".0002")]
    for done, deviation in enumerate(noise):
        error = setting + offset + deviation
        setting += correction(error=error, earlier_cuts=done, dead_band=Length(0)).correction
    mean = sum((offset + deviation).nm for deviation in noise) / len(noise)
    assert setting.nm == pytest.approx(-mean, abs=3)


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ({"error": Length(1), "earlier_cuts": -1}, "earlier_cuts"),
        ({"error": Length(1), "earlier_cuts": 0, "dead_band": Length(-1)}, "dead_band"),
    ],
)
def test_a_correction_from_nonsense_is_refused(arguments: dict, field: str):
    with pytest.raises(CalculationError) as refused:
        correction(**arguments)
    assert refused.value.field == field


def test_the_first_pass_stays_two_thou_under_while_the_tip_is_little_known():
    found = first_pass(target_bore=Length.of("1.62215"), good_cuts=0)
    assert found.aim == Length.of("1.62015")
    assert [step.value for step in found.working] == ["1.62215", ".00200", "1.62015"]


def test_the_first_pass_of_a_known_tip_is_the_target():
    found = first_pass(target_bore=Length.of("1.62215"), good_cuts=5)
    assert found.aim == Length.of("1.62215")
    assert found.under == Length(0)


def test_a_first_pass_as_large_as_the_bore_is_refused():
    with pytest.raises(CalculationError) as refused:
        first_pass(target_bore=Length.of("1.6"), good_cuts=0, under=Length.of("1.6"))
    assert refused.value.field == "under"
