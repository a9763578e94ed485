"""Three rules for judging a measured value against limits when the measurement may be wrong."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from math import erfc, sqrt

from app.calc.errors import CalculationError
from app.calc.sources import FULL_GUARD, ISO_GUARD, SIMPLE_ACCEPTANCE, Source
from app.calc.units import Length, root_nm


class DecisionRule(Enum):
    """How much of the expanded uncertainty is kept away from each limit."""

    SIMPLE = "simple"
    ISO_14253_1_2017 = "iso_14253_1_2017"
    FULL_GUARD = "full_guard"


class Verdict(Enum):
    """What a measured interference is, by these readings and this rule."""

    INSIDE = "inside"
    DOUBTFUL = "doubtful"
    LOOSE = "loose"
    TIGHT = "tight"


@dataclass(frozen=True, slots=True)
class Guard:
    """The share of U that a rule keeps away from each limit, and where that comes from."""

    share: Fraction
    source: Source


GUARDS = {
    DecisionRule.SIMPLE: Guard(Fraction(0), SIMPLE_ACCEPTANCE),
    DecisionRule.ISO_14253_1_2017: Guard(Fraction(83, 100), ISO_GUARD),
    DecisionRule.FULL_GUARD: Guard(Fraction(1), FULL_GUARD),
}


def guard_band(*, decision_rule: DecisionRule, uncertainty_squared_nm2: Fraction | int) -> Length:
    """How far from each limit a value must stay to be accepted.

    g = share·U = √(share²·U²), rounded once; share 0, 0.83 or 1

    Parameters
    ----------
    decision_rule : DecisionRule
        which share [-]
    uncertainty_squared_nm2 : Fraction or int
        U², the expanded uncertainty (k = 2) squared, before any rounding [nm²]

    Raises
    ------
    ValueError
        for a negative square.

    >>> u = Length.of(".0005")
    >>> guard_band(decision_rule=DecisionRule.ISO_14253_1_2017,
    ...            uncertainty_squared_nm2=u.nm**2).inches(6)
    '.000415'
    """
    return root_nm(GUARDS[decision_rule].share ** 2 * uncertainty_squared_nm2)


def judge(
    *, value: Length, least: Length, most: Length, accept_low: Length, accept_high: Length
) -> Verdict:
    """Where an interference stands: every end belongs to the part that it closes.

    below least: loose; above most: tight; in accept_low…accept_high: inside; else doubtful

    Parameters
    ----------
    value : Length
        interference [nm]
    least : Length
        window's least [nm]
    most : Length
        window's most, not below the least [nm]
    accept_low : Length
        least + guard band [nm]
    accept_high : Length
        most − guard band; below ``accept_low`` when nothing can be accepted [nm]

    Raises
    ------
    CalculationError
        field ``interference``, when least is above most.

    >>> ends = dict(least=Length(30), most=Length(50),
    ...             accept_low=Length(34), accept_high=Length(46))
    >>> [judge(value=Length(nm), **ends).value for nm in (29, 30, 34, 46, 47, 51)]
    ['loose', 'doubtful', 'inside', 'inside', 'doubtful', 'tight']
    """
    if least > most:
        raise CalculationError("interference", "has its least above its most")
    if value < least:
        return Verdict.LOOSE
    if value > most:
        return Verdict.TIGHT
    return Verdict.INSIDE if accept_low <= value <= accept_high else Verdict.DOUBTFUL


def chance_within(
    *, value: Length, low: Length | None, high: Length | None, standard_uncertainty: Length
) -> float:
    """The chance that the true value is within limits, the error taken as normal.

    P = Φ((high − y)/u) − Φ((low − y)/u)

    Parameters
    ----------
    value : Length
        y, as measured [nm]
    low : Length or None
        lower limit, None without one [nm]
    high : Length or None
        upper limit, None without one [nm]
    standard_uncertainty : Length
        u, half of an expanded uncertainty with k = 2, above 0 [nm]

    Returns
    -------
    float
        0 to 1

    Raises
    ------
    CalculationError
        field ``standard_uncertainty``, when it is not above 0.

    >>> um = 1000
    >>> round(chance_within(value=Length(13_600*um), low=Length(12_500*um), high=Length(16_300*um),
    ...                     standard_uncertainty=Length(1_800*um)), 2)
    0.66
    """
    if standard_uncertainty.nm <= 0:
        raise CalculationError("standard_uncertainty", "must be above 0")
    spread = standard_uncertainty.nm * sqrt(2)
    below = 0.0 if low is None else erfc((value - low).nm / spread) / 2
    above = 0.0 if high is None else erfc((high - value).nm / spread) / 2
    return 1.0 - below - above


def false_accept_at_limit(*, decision_rule: DecisionRule) -> float:
    """The largest chance that a value which is just accepted lies beyond that limit.

    P = 1 − Φ(2·share), U = 2u

    Parameters
    ----------
    decision_rule : DecisionRule
        the rule that accepted it [-]

    Returns
    -------
    float
        0 to 1

    >>> round(false_accept_at_limit(decision_rule=DecisionRule.ISO_14253_1_2017), 4)
    0.0485
    """
    one_u = Length(1_000_000)
    guard = guard_band(decision_rule=decision_rule, uncertainty_squared_nm2=(2 * one_u.nm) ** 2)
    return 1.0 - chance_within(value=guard, low=Length(0), high=None, standard_uncertainty=one_u)
