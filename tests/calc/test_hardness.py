"""Mean hardness of several spots."""

from fractions import Fraction
from statistics import mean

import pytest

from app.calc.errors import CalculationError
from app.calc.hardness import mean_hardness

CHECKS = {"mean_hardness": "the standard library's statistics.mean"}


@pytest.mark.parametrize("spots", [(98.0, 101.0, 99.5), (64.9, 65.0, 65.2), (110.0,)])
def test_the_mean_is_that_of_the_decimals_as_read(spots: tuple[float, ...]):
    found = mean_hardness(spots={str(nth): one for nth, one in enumerate(spots, 1)})
    assert found.mean == mean(Fraction(str(one)) for one in spots)
    assert found.spread == Fraction(str(max(spots))) - Fraction(str(min(spots)))


def test_the_softest_spot_is_named():
    assert mean_hardness(spots={"1": 98, "2": 62, "3": 99}).softest == ("2",)


@pytest.mark.parametrize("spots", [{}, {"1": 9.8}, {"1": 1010.0}, {"1": float("nan")}])
def test_no_spot_and_another_order_of_magnitude_are_refused(spots: dict[str, float]):
    with pytest.raises(CalculationError):
        mean_hardness(spots=spots)
