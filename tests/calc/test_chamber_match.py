"""Chamber volumes against each other: every group tried by itertools, spread by numpy."""

from fractions import Fraction
from itertools import combinations

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.chamber_match import chamber_match
from app.calc.errors import CalculationError

CHECKS = {"chamber_match": "`numpy` peak to peak; every group of chambers by `itertools`"}


def volumes(*texts: str) -> dict[str, Fraction]:
    return {str(nth): Fraction(text) for nth, text in enumerate(texts, 1)}


@given(st.lists(st.integers(400, 480), min_size=2, max_size=7), st.integers(0, 30))
def test_those_that_are_out_are_what_the_largest_group_leaves(tenths, most):
    given_volumes = {str(nth): Fraction(one, 10) for nth, one in enumerate(tenths)}
    found = chamber_match(volumes_cm3=given_volumes, most_apart_cm3=Fraction(most, 10))
    assert float(found.spread_cm3) == pytest.approx(float(numpy.ptp(tenths)) / 10)
    fits = [
        set(group)
        for size in range(len(tenths), 0, -1)
        for group in combinations(given_volumes, size)
        if max(given_volumes[one] for one in group) - min(given_volumes[one] for one in group)
        <= Fraction(most, 10)
    ]
    largest = [group for group in fits if len(group) == len(fits[0])]
    expected = set(given_volumes) - largest[0] if len(largest) == 1 else set()
    assert set(found.out) == expected
    assert found.matches is (len(fits[0]) == len(tenths))


def test_one_that_is_out_is_held_against_the_nearest_that_match():
    found = chamber_match(
        volumes_cm3=volumes("43.2", "41.9", "43.4", "43.0"), most_apart_cm3=Fraction(1)
    )
    assert found.out == {"2": Fraction("-1.1")}


def test_two_that_differ_do_not_say_which_is_out():
    found = chamber_match(volumes_cm3=volumes("43", "45"), most_apart_cm3=Fraction(1))
    assert (found.matches, found.out) == (False, {})


def test_a_spread_at_the_very_figure_matches():
    assert chamber_match(volumes_cm3=volumes("43.2", "44.2"), most_apart_cm3=Fraction(1)).matches


@pytest.mark.parametrize(
    ("given_volumes", "most", "field"),
    [
        (volumes("43"), "1", "volumes_cm3"),
        (volumes("43", "0"), "1", "volumes_cm3"),
        (volumes("43", "44"), "-1", "most_apart_cm3"),
    ],
)
def test_what_cannot_be_compared_is_refused(given_volumes, most, field):
    with pytest.raises(CalculationError) as refused:
        chamber_match(volumes_cm3=given_volumes, most_apart_cm3=Fraction(most))
    assert refused.value.field == field
