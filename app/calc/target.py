"""The target: how large the counterbore is to be for the measured ring."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from app.calc.errors import ImpossibleError
from app.calc.rules import Interference
from app.calc.shown import shown_sum
from app.calc.sources import MEASURED
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, decimal_text

CALCULATION = Calculation("target", 1)

# Wider than any habit in print: outside it a figure is more likely mistyped than meant.
LEAST_PER_MILLE = Fraction(1, 2)
MOST_PER_MILLE = Fraction(10)


@dataclass(frozen=True, kw_only=True)
class Target(Result):
    """The bore to aim at and the window around it, each rounded once from the exact mean."""

    target_bore: Length
    bore_low: Length
    bore_high: Length
    aim_per_mille: Fraction

    @property
    def thou_per_inch(self) -> str:
        """Interference per diameter, as the trade says it: ``2.46``."""
        return decimal_text(self.aim_per_mille, 2)

    @property
    def is_odd(self) -> bool:
        """Whether the fit per inch of diameter is far outside any habit: ask, do not refuse."""
        return not LEAST_PER_MILLE <= self.aim_per_mille <= MOST_PER_MILLE


def target_bore(
    *,
    ring_od_nm: Fraction | int,
    window: Interference,
    rule_source: str,
    rings: int = 1,
    unit: str = "in",
) -> Target:
    """Bore for a measured ring; a label has no part in it.

    B = D − aim; window [D − most, D − least]; aim/D in thou per inch (per mille)

    Parameters
    ----------
    ring_od_nm : Fraction or int
        D, mean ring OD at 20 °C, exact [nm]
    window : Interference
        the rule, on diameter [nm]
    rule_source : str
        who says so, for the working [-]
    rings : int
        over how many rings D is the mean, where any of them may go in [-]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    Target
        nearest nanometre, ties to even

    Raises
    ------
    ImpossibleError
        field ``interference`` when the ring is no larger than the most interference.

    >>> iron = Interference(Length.of(".003"), Fraction(Length.of(".004").nm), Length.of(".005"))
    >>> found = target_bore(ring_od_nm=Length.of("1.62615").nm, window=iron, rule_source="shop")
    >>> found.target_bore.inches(5), found.bore_low.inches(5), found.bore_high.inches(5)
    ('1.62215', '1.62115', '1.62315')
    >>> found.thou_per_inch
    '2.46'
    """
    od = Fraction(ring_od_nm)
    if od <= window.most.nm:
        raise ImpossibleError("interference", "is as large as the ring itself")
    shown = shown_sum(parts=[(1, od), (-1, window.aim_nm)], unit=unit)
    low = shown_sum(parts=[(1, od), (-1, window.most.nm)], unit=unit)
    high = shown_sum(parts=[(1, od), (-1, window.least.nm)], unit=unit)
    per_mille = window.aim_nm / od * 1000
    return Target(
        calculation=CALCULATION,
        inputs={"ring_od_nm": od, "window": window, "rule_source": rule_source, "rings": rings},
        target_bore=Length.nearest(od - window.aim_nm),
        bore_low=Length.nearest(od - window.most.nm),
        bore_high=Length.nearest(od - window.least.nm),
        aim_per_mille=per_mille,
        working=(
            Step("D", _od_words(rings), shown.parts[0], unit, MEASURED),
            Step("I", "− interference aimed at", shown.parts[1], unit, rule_source),
            Step("B", "target bore", shown.total, unit, "D − I", is_total=True),
            Step("B_low", f"least bore: D − {low.parts[1]}", low.total, unit, rule_source),
            Step("B_high", f"largest bore: D − {high.parts[1]}", high.total, unit, rule_source),
            Step("I/D", "interference by diameter", decimal_text(per_mille, 2), "thou/in", "I/D"),
        ),
    )


def _od_words(rings: int) -> str:
    if rings > 1:
        return f"ring OD at 20 °C, mean of {rings} rings"
    return "ring OD at 20 °C"
