"""How well an instrument repeats: the spread of readings of one size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from app.calc.errors import CalculationError
from app.calc.shown import shown_nm
from app.calc.sources import MEASURED, REPEATED
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, mean_nm, root_nm

FEWEST = 2


@dataclass(frozen=True, kw_only=True)
class Repeatability(Result):
    """Twice the standard deviation of a single reading, with its exact square."""

    repeatability: Length
    squared_nm2: Fraction


def repeatability_of(*, readings: Sequence[Length], unit: str = "in") -> Repeatability:
    """Twice the standard deviation of one reading, from readings of one and the same size.

    R = 2·s, s² = Σ(x − x̄)²/(n − 1)

    Parameters
    ----------
    readings : sequence of Length
        x, two or more of one size, with the instrument taken away between them [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Returns
    -------
    Repeatability
        nearest nanometre; readings that are all alike give 0, and the division says the rest

    Raises
    ------
    CalculationError
        field ``readings`` with fewer than two.

    >>> found = repeatability_of(readings=[Length.of(size) for size in
    ...                                    ("1.6220", "1.6221", "1.6222", "1.6221", "1.6221")])
    >>> found.repeatability.inches(6)
    '.000141'
    """
    if len(readings) < FEWEST:
        raise CalculationError("readings", "need at least two of one size")
    mean = mean_nm(readings)
    squared = sum(((one.nm - mean) ** 2 for one in readings), Fraction(0)) / (len(readings) - 1)
    deviation, twice = root_nm(squared), root_nm(4 * squared)
    return Repeatability(
        calculation=Calculation("repeatability", 1),
        inputs={"readings": tuple(readings)},
        working=(
            Step("x̄", f"mean of {len(readings)}", shown_nm(mean, unit), unit, MEASURED),
            Step(
                "s",
                "standard deviation of one reading",
                shown_nm(deviation.nm, unit, inch_places=6, mm_places=5),
                unit,
                REPEATED.cited,
            ),
            Step(
                "R",
                "repeatability, twice that",
                shown_nm(twice.nm, unit, inch_places=6, mm_places=5),
                unit,
                "2·s",
                is_total=True,
            ),
        ),
        repeatability=twice,
        squared_nm2=4 * squared,
    )
