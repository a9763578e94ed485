"""How hard a casting is: the mean of several spots, and how far they lie apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from app.calc.errors import CalculationError
from app.calc.quantities import HARDNESS
from app.calc.sources import MEASURED
from app.calc.trace import Calculation, Result, Step

SPOTS_MEAN = Calculation("hardness", 1)


@dataclass(frozen=True, kw_only=True)
class Hardness(Result):
    """Mean and spread of the spots, Brinell."""

    mean: Fraction
    spread: Fraction
    softest: tuple[str, ...]

    @property
    def shown(self) -> str:
        """The mean in whole points, half to even: a tester reads no closer."""
        return str(round(self.mean))


def mean_hardness(*, spots: Mapping[str, float]) -> Hardness:
    """Mean of the spots that were read on one face.

    mean = Σ HB / n; spread = largest − smallest

    Parameters
    ----------
    spots : mapping of str to float
        reading by spot, at least one [HB]

    Returns
    -------
    Hardness
        exact fractions of the decimals as read

    Raises
    ------
    CalculationError
        without a spot, or with a reading that no head has

    >>> mean_hardness(spots={"1": 98, "2": 101, "3": 99.5}).shown
    '100'
    """
    if not spots:
        raise CalculationError("spots", "at least one spot is needed")
    for place, value in spots.items():
        if refusal := HARDNESS.refusal(value):
            raise CalculationError("spots", f"{place}: {value:g} {refusal}")
    read = {place: Fraction(str(value)) for place, value in spots.items()}
    mean = sum(read.values(), Fraction(0)) / len(read)
    least = min(read.values())
    return Hardness(
        calculation=SPOTS_MEAN,
        inputs={"spots": dict(spots)},
        mean=mean,
        spread=max(read.values()) - least,
        softest=tuple(place for place, value in read.items() if value == least),
        working=(
            *(Step("", place, f"{value:g}", "HB", MEASURED) for place, value in spots.items()),
            Step("mean", "mean", str(round(mean)), "HB", MEASURED, is_total=True),
        ),
    )
