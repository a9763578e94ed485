"""Standard uncertainties combined as the guide says, with degrees of freedom where they count."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import cos, floor, pi, sin, sqrt
from statistics import NormalDist

from app.calc.errors import CalculationError
from app.calc.shown import shown_nm
from app.calc.sources import COMBINED_BY_GUM
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, root_nm

CALCULATION = Calculation("combined-uncertainty", 1)
USUAL_K = 2.0
# From here on Student's factor is the normal one to four digits.
AS_GOOD_AS_INFINITE = 10_000


@dataclass(frozen=True, slots=True)
class Part:
    """One contribution: its standard uncertainty squared, sensitivity included.

    `degrees_of_freedom` is None where the uncertainty itself is taken as known.
    """

    symbol: str
    words: str
    squared_nm2: Fraction
    source: str
    degrees_of_freedom: Fraction | None = None

    @property
    def standard(self) -> Length:
        """To the nearest nanometre, for showing."""
        return root_nm(self.squared_nm2)


@dataclass(frozen=True, kw_only=True)
class Combined(Result):
    """Standard and expanded uncertainty; `degrees_of_freedom` is None when infinite."""

    squared_nm2: Fraction
    standard_nm: float
    degrees_of_freedom: float | None
    coverage_factor: float
    expanded: Length


def combine_parts(
    *, parts: Sequence[Part], level: float | None = None, unit: str = "in"
) -> Combined:
    """Uncertainty of a sum of independent parts.

    u² = Σu_i²; ν_eff = u⁴/Σ(u_i⁴/ν_i), cut to a whole number; U = k·u, with k = 2 or Student's for
    a level

    Parameters
    ----------
    parts : sequence of Part
        standard uncertainties with their sensitivities [-]
    level : float or None
        level of confidence between 0 and 1; None for k = 2 [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``parts`` without one or with a negative square, ``level`` not between 0 and 1.

    >>> parts = [Part("a", "one", Fraction(300**2), "given"),
    ...          Part("b", "other", Fraction(400**2), "given")]
    >>> found = combine_parts(parts=parts)
    >>> found.standard_nm, found.expanded.nm
    (500.0, 1000)
    """
    if not parts:
        raise CalculationError("parts", "needs at least one")
    if any(part.squared_nm2 < 0 for part in parts):
        raise CalculationError("parts", "cannot be negative")
    squared = sum((part.squared_nm2 for part in parts), Fraction(0))
    spread = sum(
        (
            part.squared_nm2**2 / part.degrees_of_freedom
            for part in parts
            if part.degrees_of_freedom is not None
        ),
        Fraction(0),
    )
    freedom = squared**2 / spread if spread else None
    k = (
        USUAL_K
        if level is None
        else coverage_factor(
            level=level, degrees_of_freedom=None if freedom is None else float(freedom)
        )
    )
    expanded = root_nm(squared * Fraction(k) ** 2)
    return Combined(
        calculation=CALCULATION,
        inputs={"parts": tuple(parts), "level": level},
        working=(
            *(
                Step(
                    part.symbol,
                    f"{part.words}, standard",
                    shown_nm(part.standard.nm, unit, inch_places=6, mm_places=5),
                    unit,
                    part.source,
                )
                for part in parts
            ),
            Step(
                "u",
                "root of the sum of squares, standard",
                shown_nm(root_nm(squared).nm, unit, inch_places=6, mm_places=5),
                unit,
                COMBINED_BY_GUM.cited,
            ),
            Step(
                "U",
                f"possible error ±, k = {k:.3g}",
                shown_nm(expanded.nm, unit),
                unit,
                COMBINED_BY_GUM.cited,
                is_total=True,
            ),
        ),
        squared_nm2=squared,
        standard_nm=sqrt(squared),
        degrees_of_freedom=None if freedom is None else float(freedom),
        coverage_factor=k,
        expanded=expanded,
    )


def coverage_factor(*, level: float, degrees_of_freedom: float | None) -> float:
    """Student's two-sided factor for a level of confidence.

    P(−k < t < k) = level, with the degrees of freedom cut to a whole number

    Parameters
    ----------
    level : float
        between 0 and 1 [-]
    degrees_of_freedom : float or None
        1 or more; None for infinitely many [-]

    Raises
    ------
    CalculationError
        field ``level`` or ``degrees_of_freedom``.

    >>> round(coverage_factor(level=0.99, degrees_of_freedom=16.8), 2)
    2.92
    >>> round(coverage_factor(level=0.95, degrees_of_freedom=None), 2)
    1.96
    """
    if not 0 < level < 1:
        raise CalculationError("level", "must lie between 0 and 1")
    if degrees_of_freedom is None or degrees_of_freedom >= AS_GOOD_AS_INFINITE:
        return NormalDist().inv_cdf((1 + level) / 2)
    if degrees_of_freedom < 1:
        raise CalculationError("degrees_of_freedom", "must be 1 or more")
    whole = floor(degrees_of_freedom)
    # the angle whose tangent is t/√ν: it keeps far tails inside a quarter turn
    low, high = 0.0, pi / 2
    for _ in range(60):
        middle = (low + high) / 2
        if _share_within(middle, whole) < level:
            low = middle
        else:
            high = middle
    return sqrt(whole) * sin(low) / cos(low)


def standard_of_limits(*, half_width: Length) -> Fraction:
    """Square of the standard uncertainty of what is known only to lie within limits.

    u² = a²/3

    Parameters
    ----------
    half_width : Length
        a, limits ±a [nm]

    >>> standard_of_limits(half_width=Length(3))
    Fraction(3, 1)
    """
    return Fraction(half_width.nm**2, 3)


def standard_of_division(*, division: Length) -> Fraction:
    """Square of the standard uncertainty of reading to a whole division.

    u² = d²/12

    Parameters
    ----------
    division : Length
        d, one division [nm]

    >>> standard_of_division(division=Length(6))
    Fraction(3, 1)
    """
    return Fraction(division.nm**2, 12)


def _share_within(angle: float, whole: int) -> float:
    """P(|t| < √ν·tan angle), Student's distribution with a whole ν, by its finite series."""
    sine, cosine = sin(angle), cos(angle)
    is_odd = whole % 2 == 1
    term = cosine if is_odd else 1.0
    total = term if whole > 1 else 0.0
    for i in range(2 if is_odd else 1, whole - 1, 2):
        term *= cosine**2 * i / (i + 1)
        total += term
    return 2 / pi * (angle + sine * total) if is_odd else sine * total
