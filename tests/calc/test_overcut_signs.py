"""Signs in a tip's cuts: what is called, what is not, and how often chance alone is called."""

import random
from itertools import pairwise
from statistics import fmean

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import CalculationError
from app.calc.overcut import Cut, overcut
from app.calc.overcut_signs import (
    FALSE_SIGNS_PER_THOUSAND,
    RUN_LENGTH,
    TREND_LENGTH,
    Sign,
    SignKind,
    overcut_signs,
)
from app.calc.units import Length, mean_nm
from tests.calc.test_piston_rings import rings

CHECKS = {
    "overcut_signs": (
        "windows of eight and six by brute force; steady piston rings, Montgomery, Introduction "
        "to Statistical Quality Control, table 6.3; Champ and Woodall (1987): 152.7 points to a "
        "false sign of limits and runs of eight (from memory)"
    )
}

NO_BAND = Length(0)


def cuts_of(*tenths: float) -> list[Cut]:
    """Cuts that came out so many tenths of a thousandth over the size set."""
    base = Length.of("1.6200")
    return [Cut(base, base + Length(round(each * 2540))) for each in tenths]


def told(*tenths: float, dead_band: Length = NO_BAND) -> list[tuple[str, int, int]]:
    found = overcut_signs(cuts=cuts_of(*tenths), dead_band=dead_band)
    return [(sign.kind.name, sign.first, sign.last) for sign in found.signs]


def only(*tenths: float, dead_band: Length = NO_BAND) -> Sign:
    (sign,) = overcut_signs(cuts=cuts_of(*tenths), dead_band=dead_band).signs
    return sign


def test_cuts_that_scatter_give_no_sign():
    found = overcut_signs(cuts=cuts_of(3, 4, 2, 3, 4, 3, 2, 4, 3, 3, 2, 4))
    assert found.signs == ()
    assert not found.too_few
    assert found.working[0].value == "12"


def test_nothing_is_called_in_four_cuts_and_something_may_be_in_five():
    four, five = cuts_of(0, 0, 0, 40), cuts_of(0, 0, 0, 0, 40)
    assert overcut_signs(cuts=four).too_few
    assert overcut_signs(cuts=four).signs == ()
    assert [sign.kind for sign in overcut_signs(cuts=five).signs] == [SignKind.BEYOND]


def test_no_cut_at_all_is_too_few_and_not_an_error():
    found = overcut_signs(cuts=[])
    assert found.too_few
    assert found.count == 0


def test_a_cut_beyond_a_limit_is_told_with_its_distance_from_the_mean():
    sign = only(3, 3, 4, 3, 3, 4, 3, 20, 3, 3, 4, 3, 3, 4, 3)
    assert (sign.kind, sign.first, sign.last, sign.count) == (SignKind.BEYOND, 7, 7, 1)
    assert sign.size.inches(5) == ".00156"  # 20 − 66/15 tenths


def test_eight_on_one_side_are_a_run_and_seven_are_not():
    apart = (5, 1, 5, 1, 5, 1)
    low = (2, 1, 2, 1, 2, 1, 2)
    high = (4, 5, 4, 5, 4, 5, 4)
    assert told(*low, *apart, *high) == []
    assert ("RUN", 0, 7) in told(*low, 1, 5, 1, 5, 1, 5, 4, 5, 4, 5, 4)


def test_a_run_is_told_once_however_long_and_with_its_own_mean_less_that_of_all():
    found = overcut_signs(cuts=cuts_of(*[1, 2] * 5, *[5, 6] * 5), dead_band=NO_BAND)
    runs = [sign for sign in found.signs if sign.kind is SignKind.RUN]
    assert [(sign.first, sign.last) for sign in runs] == [(0, 9), (10, 19)]
    assert [sign.size.inches(5) for sign in runs] == ["-.00020", ".00020"]


def test_a_cut_on_the_mean_ends_a_run():
    # The mean is 3 exactly; the fifth of nine over it lies on it.
    assert told(4, 5, 4, 5, 3, 4, 5, 4, 5, 1, 1, 1, 1, 1, 1) == []


def test_six_growing_are_a_sign_and_five_are_not():
    assert told(3, 2, 3, 4, 5, 6, 3, 4, 3) == []
    sign = only(3, 2, 3, 4, 5, 6, 7, 3, 4, 3)
    assert (sign.kind, sign.first, sign.last, sign.count) == (SignKind.RISING, 1, 6, 6)
    assert sign.size == Length.of(".0005")


def test_six_shrinking_are_a_sign_of_their_own():
    sign = only(5, 6, 5, 4, 3, 2, 1, 4, 5)
    assert (sign.kind, sign.first, sign.last) == (SignKind.FALLING, 1, 6)
    assert sign.size == Length.of("-.0005")


def test_equal_neighbours_end_a_growing_row():
    assert told(1, 2, 3, 3, 4, 5, 6, 2, 3) == []


def test_a_sign_within_the_dead_band_is_found_and_not_called_large():
    half_tenths = (2, 1, 1.5, 2, 2.5, 3, 3.5, 2, 1.5)
    (sign,) = overcut_signs(cuts=cuts_of(*half_tenths), dead_band=Length.of(".0003")).signs
    assert sign.stands
    assert not sign.is_large
    assert overcut_signs(cuts=cuts_of(*half_tenths), dead_band=Length.of(".0003")).standing == ()
    assert overcut_signs(cuts=cuts_of(*half_tenths), dead_band=Length.of(".0002")).standing


def test_a_sign_no_larger_than_the_dead_band_is_left_alone_at_its_very_edge():
    row = (3, 1, 2, 3, 4, 5, 6, 3)
    assert not only(*row, dead_band=Length.of(".0005")).is_large
    assert only(*row, dead_band=Length.of(".00049")).is_large


def test_one_stray_does_not_put_all_other_cuts_on_one_side():
    steady = (3, 4, 3, 4, 3, 4, 3, 4, 3)
    assert told(*steady, 25) == [("BEYOND", 9, 9)]


def test_two_steady_levels_are_two_runs():
    assert ("RUN", 0, 9) in told(*[1] * 10, *[9] * 10)


def test_a_sign_stands_until_eight_cuts_follow_it():
    quiet = (4, 3, 4, 3, 4, 3, 4, 3)
    stray = (3, 4, 3, 4, 3, 4, 3, 4, 3, 25)
    for following in range(9):
        sign = only(*stray, *quiet[:following])
        assert sign.stands is (following < 8), following


def test_inch_and_mm_give_the_same_signs():
    row = cuts_of(3, 2, 3, 4, 5, 6, 7, 3)
    inch, metric = overcut_signs(cuts=row), overcut_signs(cuts=row, unit="mm")
    assert inch.signs == metric.signs
    assert [step.value for step in metric.working] == ["8", "0.0127"]


def test_a_negative_dead_band_is_refused():
    with pytest.raises(CalculationError) as refused:
        overcut_signs(cuts=cuts_of(1, 2), dead_band=Length(-1))
    assert refused.value.field == "dead_band"


@given(st.lists(st.integers(-4, 4), min_size=5, max_size=40))
def test_runs_and_rows_agree_with_every_window_looked_at_by_itself(tenths: list[int]):
    found = overcut_signs(cuts=cuts_of(*tenths), dead_band=NO_BAND).signs
    count = len(tenths)
    beyond = overcut(cuts=cuts_of(*tenths)).out_of_control
    within = [each for place, each in enumerate(tenths) if place not in beyond] or tenths
    total, among = sum(within), len(within)

    def windows(length: int) -> range:
        return range(count - length + 1)

    in_run = {
        place
        for start in windows(RUN_LENGTH)
        for side in (1, -1)
        if all((each * among - total) * side > 0 for each in tenths[start : start + RUN_LENGTH])
        for place in range(start, start + RUN_LENGTH)
    }
    in_row = {
        (place, way)
        for start in windows(TREND_LENGTH)
        for way in (1, -1)
        if all((b - a) * way > 0 for a, b in pairwise(tenths[start : start + TREND_LENGTH]))
        for place in range(start, start + TREND_LENGTH)
    }
    of_run = {
        place
        for sign in found
        if sign.kind is SignKind.RUN
        for place in range(sign.first, sign.last + 1)
    }
    of_row = {
        (place, 1 if sign.kind is SignKind.RISING else -1)
        for sign in found
        if sign.kind in (SignKind.RISING, SignKind.FALLING)
        for place in range(sign.first, sign.last + 1)
    }
    assert of_run == in_run
    assert of_row == in_row


def test_steady_piston_rings_give_no_sign():
    """Montgomery, table 6.3: samples 1 to 25 are a process in control, by the book's own chart."""
    base = Length.of("60", "mm")
    means = [Length.nearest(mean_nm(od)) for od in rings()]
    found = overcut_signs(cuts=[Cut(base, mean) for mean in means], dead_band=NO_BAND, unit="mm")
    assert found.count == 25
    assert found.signs == ()


def test_known_limits_and_runs_of_eight_call_once_in_153_points_by_chance():
    """Champ and Woodall (1987), from memory: 152.7 for limits with runs of eight, by a chain."""
    outside = 0.0026998
    side = (1 - outside) / 2
    # Points to the first sign after j on one side: f(j) = 1 + side·f(j + 1) + side·f(1).
    a, b = 0.0, 0.0
    for _ in range(RUN_LENGTH - 1):
        a, b = 1 + side * a, side * b + side
    first = a / (1 - b)
    assert 1 + 2 * side * first == pytest.approx(152.7, abs=0.1)


def test_chance_alone_is_called_as_seldom_as_is_said():
    rng = random.Random(1924)
    tips = 1200
    called = 0
    for _ in range(tips):
        tenths = [rng.gauss(0, 2) for _ in range(20)]
        called += bool(overcut_signs(cuts=cuts_of(*tenths), dead_band=NO_BAND).standing)
    assert called / tips == pytest.approx(FALSE_SIGNS_PER_THOUSAND[20] / 1000, abs=0.02)


def test_a_tip_that_wears_by_a_tenth_a_cut_is_called_nearly_always_within_twenty_cuts():
    rng = random.Random(7)
    called = []
    for _ in range(60):
        tenths = [3 - 0.5 * place + rng.gauss(0, 1) for place in range(20)]
        called.append(bool(overcut_signs(cuts=cuts_of(*tenths)).standing))
    assert fmean(called) > 0.95
