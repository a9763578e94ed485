"""What a cutter tip cuts beside the size it was set to, and how much of an error to correct."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from app.calc.errors import CalculationError
from app.calc.shown import shown_nm, shown_sum
from app.calc.sources import (
    CUTTER_HABIT,
    INDIVIDUALS_CHART,
    MEAN_NOT_LAST,
    MEASURED,
    SHRINKING_CORRECTIONS,
)
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, mean_nm, root_nm

D2_OF_TWO = Fraction(1128, 1000)
DEAD_BAND = Length.of(".0002")
FIRST_PASS_UNDER = Length.of(".002")
ENOUGH_GOOD_CUTS = 5


@dataclass(frozen=True, slots=True)
class Cut:
    """One bore: the size that was set and the size that was measured."""

    set_size: Length
    measured: Length


@dataclass(frozen=True, slots=True)
class IndividualsChart:
    """Centre, limits and mean moving range of an individuals chart."""

    centre: Length
    low: Length
    high: Length
    mean_moving_range: Length


@dataclass(frozen=True, kw_only=True)
class Overcut(Result):
    """What a tip's cuts say; spread and chart are None for a single cut."""

    mean: Length
    standard_deviation: Length | None
    count: int
    chart: IndividualsChart | None
    out_of_control: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class OvercutToUse(Result):
    """The overcut for a new setting, and whether the tip is too little known to trust it."""

    overcut: Length
    count: int
    little_known: bool


@dataclass(frozen=True, kw_only=True)
class Correction(Result):
    """What to add to the set size before the next cut; zero when it is to be left alone."""

    correction: Length
    leave_alone: bool


@dataclass(frozen=True, kw_only=True)
class FirstPass(Result):
    """The bore to aim at with the first pass; `under` says how far that is below the target."""

    aim: Length
    under: Length


def overcut(*, cuts: Sequence[Cut], unit: str = "in") -> Overcut:
    """Mean, spread and individuals chart of measured − set, over the cuts of one tip.

    kᵢ = measured − set; k̄ = Σkᵢ/n; s² = Σ(kᵢ − k̄)²/(n − 1);
    limits = k̄ ± 3/1.128 · mean of |kᵢ₊₁ − kᵢ|

    Parameters
    ----------
    cuts : sequence of Cut
        oldest first, of one tip in one head material since the tip was changed or ground;
        at least one [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Returns
    -------
    Overcut
        ``out_of_control`` counts from 0 and lists the cuts beyond a limit as shown

    Raises
    ------
    CalculationError
        field ``cuts``, without a cut.

    >>> tip = [Cut(Length.of("1.6218"), Length.of(size)) for size in ("1.6221", "1.6220", "1.6223")]
    >>> learned = overcut(cuts=tip)
    >>> learned.mean.inches(5), learned.standard_deviation.inches(5), learned.chart.high.inches(5)
    ('.00033', '.00015', '.00087')
    """
    if not cuts:
        raise CalculationError("cuts", "needs at least one cut")
    values = [cut.measured - cut.set_size for cut in cuts]
    count = len(values)
    mean = mean_nm(values)
    deviation = _standard_deviation(values)
    chart = _individuals_chart(values, mean)
    beyond = () if chart is None else _beyond(values, chart)

    def shown(length: Length) -> str:
        return shown_nm(length.nm, unit)

    working = [
        Step(
            "k",
            f"overcut, mean of {count} {'cut' if count == 1 else 'cuts'} (measured − set)",
            shown_nm(mean, unit),
            unit,
            MEASURED,
        )
    ]
    if deviation is not None and chart is not None:
        working += [
            Step("s", "standard deviation (n − 1)", shown(deviation), unit, MEASURED),
            Step(
                "MR",
                "mean moving range",
                shown(chart.mean_moving_range),
                unit,
                "differences of neighbouring cuts",
            ),
            Step(
                "low",
                "lower limit of a single cut",
                shown(chart.low),
                unit,
                INDIVIDUALS_CHART.cited,
            ),
            Step(
                "high",
                "upper limit of a single cut",
                shown(chart.high),
                unit,
                INDIVIDUALS_CHART.cited,
            ),
        ]
    return Overcut(
        calculation=Calculation("overcut", 1),
        inputs={"cuts": tuple(cuts)},
        working=tuple(working),
        mean=Length.nearest(mean),
        standard_deviation=deviation,
        count=count,
        chart=chart,
        out_of_control=beyond,
    )


def _standard_deviation(values: Sequence[Length]) -> Length | None:
    count = len(values)
    if count == 1:
        return None
    # Σ(k − k̄)² = Σk² − (Σk)²/n: exact in whole numbers, where fractions of a long record are slow.
    total = sum(value.nm for value in values)
    squares = count * sum(value.nm**2 for value in values) - total**2
    return root_nm(Fraction(squares, count * (count - 1)))


def _individuals_chart(values: Sequence[Length], mean: Fraction) -> IndividualsChart | None:
    if len(values) == 1:
        return None
    moving_range = mean_nm([abs(later - earlier) for earlier, later in pairwise(values)])
    reach = 3 / D2_OF_TWO * moving_range
    return IndividualsChart(
        centre=Length.nearest(mean),
        low=Length.nearest(mean - reach),
        high=Length.nearest(mean + reach),
        mean_moving_range=Length.nearest(moving_range),
    )


def _beyond(values: Sequence[Length], chart: IndividualsChart) -> tuple[int, ...]:
    return tuple(
        index for index, value in enumerate(values) if not chart.low <= value <= chart.high
    )


def overcut_for_new_setting(
    *, cuts: Sequence[Cut], enough_cuts: int = ENOUGH_GOOD_CUTS, unit: str = "in"
) -> OvercutToUse:
    """The overcut that a new setting starts from: the mean of every cut, zero without any.

    k = Σ(measured − set)/n. Following the last cut alone doubles the scatter.

    Parameters
    ----------
    cuts : sequence of Cut
        the good cuts of this tip in this head material, oldest first; may be empty [nm]
    enough_cuts : int
        number of good cuts from which the mean is trusted [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``enough_cuts``, when it is below 1.

    >>> start = overcut_for_new_setting(cuts=[Cut(Length.of("1.6218"), Length.of("1.6221"))])
    >>> start.overcut.inches(4), start.count, start.little_known
    ('.0003', 1, True)
    """
    if enough_cuts < 1:
        raise CalculationError("enough_cuts", "must be at least 1")
    count = len(cuts)
    mean = mean_nm([cut.measured - cut.set_size for cut in cuts]) if cuts else Fraction(0)
    known = f"mean of {count} {'cut' if count == 1 else 'cuts'}" if cuts else "no cut known yet"
    return OvercutToUse(
        calculation=Calculation("overcut_for_new_setting", 1),
        inputs={"cuts": tuple(cuts), "enough_cuts": enough_cuts},
        working=(Step("k", f"overcut, {known}", shown_nm(mean, unit), unit, MEAN_NOT_LAST.cited),),
        overcut=Length.nearest(mean),
        count=count,
        little_known=count < enough_cuts,
    )


def correction(
    *, error: Length, earlier_cuts: int, dead_band: Length = DEAD_BAND, unit: str = "in"
) -> Correction:
    """What to add to the set size after a bore came out away from where it was expected.

    Δ = −error/(n₀ + 1); none while |error| ≤ dead band

    Parameters
    ----------
    error : Length
        measured bore − expected bore; positive: cut too large [nm]
    earlier_cuts : int
        n₀, good cuts that the present overcut already rests on, 0 or more [-]
    dead_band : Length
        largest error to leave alone; a shop rule [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``earlier_cuts`` or ``dead_band``, when negative.

    >>> correction(error=Length.of(".0006"), earlier_cuts=2).correction.inches(4)
    '-.0002'
    >>> correction(error=Length.of("-.0002"), earlier_cuts=0).leave_alone
    True
    """
    if earlier_cuts < 0:
        raise CalculationError("earlier_cuts", "cannot be negative")
    if dead_band.nm < 0:
        raise CalculationError("dead_band", "cannot be negative")
    leave_alone = abs(error) <= dead_band
    change = Fraction(0) if leave_alone else Fraction(-error.nm, earlier_cuts + 1)
    total = (
        Step(
            "Δ",
            f"leave it alone: within {shown_nm(dead_band.nm, unit, inch_places=4, mm_places=3)}",
            shown_nm(0, unit),
            unit,
            CUTTER_HABIT.cited,
            is_total=True,
        )
        if leave_alone
        else Step(
            "Δ",
            f"add to the set size: −error/{earlier_cuts + 1}",
            shown_nm(change, unit),
            unit,
            SHRINKING_CORRECTIONS.cited,
            is_total=True,
        )
    )
    return Correction(
        calculation=Calculation("overcut_correction", 1),
        inputs={"error": error, "earlier_cuts": earlier_cuts, "dead_band": dead_band},
        working=(
            Step("e", "bore came out beside the expected", shown_nm(error.nm, unit), unit, "gauge"),
            Step("n₀", "cuts that the overcut rests on", str(earlier_cuts), "", "record"),
            total,
        ),
        correction=Length.nearest(change),
        leave_alone=leave_alone,
    )


def first_pass(
    *,
    target_bore: Length,
    good_cuts: int,
    under: Length = FIRST_PASS_UNDER,
    enough_cuts: int = ENOUGH_GOOD_CUTS,
    unit: str = "in",
) -> FirstPass:
    """The bore to aim at first: the target, or less of it while the tip is little known.

    aim = target − under while good cuts < enough cuts, else the target

    Parameters
    ----------
    target_bore : Length
        the bore wanted in the end [nm]
    good_cuts : int
        good cuts known of this tip in this head material, 0 or more [-]
    under : Length
        how far under the target to start; a shop rule, common practice .002 in [nm]
    enough_cuts : int
        number of good cuts from which no first pass is needed; a shop rule [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``good_cuts`` or ``under`` when negative, ``under`` when not below the target.

    >>> first_pass(target_bore=Length.of("1.62215"), good_cuts=4).aim.inches(5)
    '1.62015'
    >>> first_pass(target_bore=Length.of("1.62215"), good_cuts=5).aim.inches(5)
    '1.62215'
    """
    if good_cuts < 0:
        raise CalculationError("good_cuts", "cannot be negative")
    if not 0 <= under.nm < target_bore.nm:
        raise CalculationError("under", "must be 0 or more, and less than the target bore")
    taken = under if good_cuts < enough_cuts else Length(0)
    shown = shown_sum(parts=[(1, target_bore.nm), (-1, taken.nm)], unit=unit)
    why = f"{good_cuts} of {enough_cuts} good cuts known"
    return FirstPass(
        calculation=Calculation("first_pass", 1),
        inputs={
            "target_bore": target_bore,
            "good_cuts": good_cuts,
            "under": under,
            "enough_cuts": enough_cuts,
        },
        working=(
            Step("B", "target bore", shown.parts[0], unit, "target"),
            Step(
                "u", f"− left for the second pass: {why}", shown.parts[1], unit, CUTTER_HABIT.cited
            ),
            Step("B₁", "bore to aim at first", shown.total, unit, "difference", is_total=True),
        ),
        aim=target_bore - taken,
        under=taken,
    )
