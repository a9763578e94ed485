"""How a shop's fits lie in their window, and how sure a share of them is: figures of the office."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import sqrt

from app.calc.errors import CalculationError
from app.calc.units import Length

# Two-sided, of the normal distribution, for 95 of 100.
Z_95 = 1.959964


@dataclass(frozen=True, slots=True)
class Capability:
    """Mean and spread of what was achieved, and its room to the nearer limit."""

    count: int
    mean: Length
    deviation: Length
    window: float  # width of the window over six standard deviations
    index: float  # room to the nearer limit over three
    low: float  # of the index, 95 of 100
    high: float


def capability(
    *, count: int, total_nm: int, total_nm2: int, least: Length, most: Length
) -> Capability:
    """How well a run of sizes keeps inside a window, by all of its scatter.

    C = min(most − x̄, x̄ − least)/(3s), s² = (Σx² − n·x̄²)/(n − 1);
    95 of 100: C ± 1.96·√(1/(9n) + C²/(2(n − 1)))

    Parameters
    ----------
    count : int
        n, how many sizes, two or more [-]
    total_nm : int
        Σx [nm]
    total_nm2 : int
        Σx² [nm²]
    least, most : Length
        the window [nm]

    Returns
    -------
    Capability
        of sizes that scatter normally; s of the whole run, drifts between its parts included

    Raises
    ------
    CalculationError
        field ``count`` with fewer than two; field ``sizes`` when all are alike.

    >>> found = capability(count=4, total_nm=0, total_nm2=4 * 75, least=Length(-60),
    ...                    most=Length(30))
    >>> round(found.window, 3), round(found.index, 3), found.deviation.nm
    (1.5, 1.0, 10)
    """
    if count < 2:
        raise CalculationError("count", "need at least two")
    mean = Fraction(total_nm, count)
    squared = (total_nm2 - count * mean * mean) / (count - 1)
    if squared <= 0:
        raise CalculationError("sizes", "are all alike: their scatter is not known")
    deviation = sqrt(squared)
    index = float(min(most.nm - mean, mean - least.nm)) / (3 * deviation)
    half = Z_95 * sqrt(1 / (9 * count) + index * index / (2 * (count - 1)))
    return Capability(
        count=count,
        mean=Length.nearest(mean),
        deviation=Length(round(deviation)),
        window=(most.nm - least.nm) / (6 * deviation),
        index=index,
        low=index - half,
        high=index + half,
    )


def share_between(*, count: int, of: int) -> tuple[float, float]:
    """Between which shares the true one likely lies, by so many cases: 95 of 100.

    (p + z²/2n ± z·√(p(1 − p)/n + z²/4n²))/(1 + z²/n), p = count/n, z = 1.96

    Parameters
    ----------
    count : int
        how many of them [-]
    of : int
        n, all cases [-]

    Returns
    -------
    tuple of float
        lower and upper bound, of 1

    Raises
    ------
    CalculationError
        field ``of`` without a case.

    >>> tuple(round(each, 4) for each in share_between(count=24, of=25))
    (0.8046, 0.9929)
    """
    if of < 1:
        raise CalculationError("of", "needs at least one case")
    share, z2 = count / of, Z_95 * Z_95
    middle = share + z2 / (2 * of)
    half = Z_95 * sqrt(share * (1 - share) / of + z2 / (4 * of * of))
    return max(0.0, (middle - half) / (1 + z2 / of)), min(1.0, (middle + half) / (1 + z2 / of))
