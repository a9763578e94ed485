"""The interference that was got, judged against the rule's window by one of three rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from app.calc.decision import GUARDS, DecisionRule, Verdict, guard_band, judge
from app.calc.errors import CalculationError, MissingError, OrderError
from app.calc.gauge import shown_ppm
from app.calc.materials import (
    GAUGE_ALPHA_PER_K,
    GAUGE_ALPHA_SOURCE,
    REFERENCE_C,
    Expansion,
    HeadMaterial,
    head_expansion,
)
from app.calc.shown import shown_nm, shown_sum
from app.calc.sources import MEASURED, REFERENCE_TEMPERATURE
from app.calc.temperature import size_at_reference
from app.calc.trace import Calculation, Result, Step
from app.calc.uncertainty import NONE, interference_uncertainty
from app.calc.units import Length, mean_nm, spread

CALCULATION = Calculation("verify", 1)
WORDS = {
    Verdict.INSIDE: "inside, by these readings",
    Verdict.DOUBTFUL: "in the window, but too near its edge to tell",
    Verdict.LOOSE: "too loose, by these readings",
    Verdict.TIGHT: "too tight, by these readings",
}
CLOSE = "; close to the edge, read again?"


@dataclass(frozen=True, kw_only=True)
class Verification(Result):
    """Interference of the means, its extremes and possible error, the window and the verdict.

    `guarded_low` and `guarded_high` keep one whole U from the limits whatever the decision rule;
    `close_to_edge` is an accepted value outside them.
    """

    ring_od_mean: Length
    bore_mean: Length
    interference: Length
    interference_least: Length
    interference_most: Length
    uncertainty: Length
    accept_low: Length
    accept_high: Length
    guarded_low: Length
    guarded_high: Length
    bore_spread: Length
    verdict: Verdict
    close_to_edge: bool

    @property
    def interference_shown(self) -> str:
        """The interference exactly as its working shows it, so that no line contradicts it."""
        return next(step.value for step in self.working if step.symbol == "I")


@dataclass(frozen=True, kw_only=True)
class BoreShape(Result):
    """Roundness and taper of a bore on diameter; None where the readings cannot tell."""

    roundness: Length | None
    taper: Length | None


def verify(
    *,
    ring_od: Sequence[Length],
    bore: Sequence[Length],
    interference_min: Length,
    interference_max: Length,
    ring_uncertainty: Length,
    bore_uncertainty: Length,
    decision_rule: DecisionRule,
    head_material: HeadMaterial | None = None,
    alloy_expansion: Expansion | None = None,
    bore_temperature_c: float = REFERENCE_C,
    gauge_temperature_c: float = REFERENCE_C,
    shared_master: Length = NONE,
    temperature_uncertainty: Length = NONE,
    rings: int = 1,
    unit: str = "in",
) -> Verification:
    """Judge a bored counterbore with its measured ring, at 20 °C.

    I = mean OD − mean bore; least = smallest OD − largest bore, most = largest OD − smallest bore;
    U² = U_ring² + U_bore² (− 2·U_master² + U_temperature²); accepted min + g … max − g with
    g = 0, 0.83 U or U. Means are rounded once, in their difference.

    Parameters
    ----------
    ring_od : sequence of Length
        readings of the ring in hand, at 20 °C [nm]
    bore : sequence of Length
        readings of the counterbore, as read [nm]
    interference_min : Length
        window's least [nm]
    interference_max : Length
        window's most [nm]
    ring_uncertainty : Length
        of the mean ring OD, expanded, k = 2 [nm]
    bore_uncertainty : Length
        of the mean bore, expanded, k = 2 [nm]
    decision_rule : DecisionRule
        simple, ISO 14253-1:2017 or full guard [-]
    head_material : HeadMaterial or None
        needed when the bore was not read at 20 °C [-]
    alloy_expansion : Expansion or None
        of this very alloy with its source, instead of the head material's [-]
    bore_temperature_c : float
        of the head at the bore when it was read [°C]
    gauge_temperature_c : float
        of the bore gauge; its scale grows by 11.5e-6 /K [°C]
    shared_master : Length
        uncertainty of one master that both gauges were zeroed on, k = 2; 0 without one [nm]
    temperature_uncertainty : Length
        what the temperatures' own error does to the interference, k = 2 [nm]
    rings : int
        how many rings of a set the ODs are of, where any of them may go in [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Returns
    -------
    Verification
        the verdict is on the interference and ends as returned, ends included

    Raises
    ------
    CalculationError
        field ``ring_od`` or ``bore`` without a reading, ``interference.min`` above the most,
        ``head_material`` when the temperature needs it, a negative uncertainty by its name.

    >>> found = verify(
    ...     ring_od=[Length.of(size) for size in ("1.6262", "1.6260", "1.6261", "1.6263")],
    ...     bore=[Length.of("1.6222")], interference_min=Length.of(".003"),
    ...     interference_max=Length.of(".005"), ring_uncertainty=Length.of(".0002"),
    ...     bore_uncertainty=Length.of(".0003"), decision_rule=DecisionRule.FULL_GUARD)
    >>> found.interference.inches(5), found.verdict.value
    ('.00395', 'inside')
    >>> found.accept_low.inches(5), found.accept_high.inches(5)
    ('.00336', '.00464')
    """
    for field, readings in (("ring_od", ring_od), ("bore", bore)):
        if not readings:
            raise CalculationError(field, "needs at least one reading")
    if interference_min > interference_max:
        raise OrderError("interference.min", "is above the most")
    expansion = alloy_expansion or _head_expansion(head_material, bore_temperature_c)
    cold = [
        size_at_reference(
            read=reading,
            temperature_c=bore_temperature_c,
            gauge_temperature_c=gauge_temperature_c,
            alpha_per_k=expansion.alpha_per_k if expansion else 0,
            temperature_field="bore_temperature_c",
        )
        for reading in bore
    ]
    doubt = interference_uncertainty(
        ring_uncertainty=ring_uncertainty,
        bore_uncertainty=bore_uncertainty,
        shared_master=shared_master,
        temperature=temperature_uncertainty,
        unit=unit,
    )
    od_mean, bore_mean = mean_nm(ring_od), sum(cold, Fraction(0)) / len(cold)
    guard = guard_band(decision_rule=decision_rule, uncertainty_squared_nm2=doubt.squared_nm2)
    interference = Length.nearest(od_mean - bore_mean)
    accept_low, accept_high = interference_min + guard, interference_max - guard
    guarded_low = interference_min + doubt.expanded
    guarded_high = interference_max - doubt.expanded
    verdict = judge(
        value=interference,
        least=interference_min,
        most=interference_max,
        accept_low=accept_low,
        accept_high=accept_high,
    )
    close_to_edge = verdict is Verdict.INSIDE and not guarded_low <= interference <= guarded_high
    words = WORDS[verdict] + (CLOSE if close_to_edge else "")
    was_taken_to_20 = bore_temperature_c != REFERENCE_C or gauge_temperature_c != REFERENCE_C
    return Verification(
        calculation=CALCULATION,
        inputs={
            "ring_od": tuple(ring_od),
            "bore": tuple(bore),
            "interference_min": interference_min,
            "interference_max": interference_max,
            "ring_uncertainty": ring_uncertainty,
            "bore_uncertainty": bore_uncertainty,
            "decision_rule": decision_rule,
            "head_material": head_material,
            "alloy_expansion": alloy_expansion,
            "bore_temperature_c": bore_temperature_c,
            "gauge_temperature_c": gauge_temperature_c,
            "shared_master": shared_master,
            "temperature_uncertainty": temperature_uncertainty,
            "rings": rings,
        },
        working=(
            *(
                _steps_to_reference(bore, bore_temperature_c, gauge_temperature_c, expansion, unit)
                if was_taken_to_20
                else ()
            ),
            *_steps_of_means(
                od_mean,
                bore_mean,
                counts=(len(ring_od), len(bore)),
                of_rings=rings > 1,
                limits=(interference_min, interference_max, accept_low, accept_high),
                unit=unit,
            ),
            *doubt.working,
            *_steps_of_window(interference_min, interference_max, guard, decision_rule, unit),
            Step("verdict", "verdict", words, "", GUARDS[decision_rule].source.cited),
        ),
        ring_od_mean=Length.nearest(od_mean),
        bore_mean=Length.nearest(bore_mean),
        interference=interference,
        interference_least=Length.nearest(min(ring_od).nm - max(cold)),
        interference_most=Length.nearest(max(ring_od).nm - min(cold)),
        uncertainty=doubt.expanded,
        accept_low=accept_low,
        accept_high=accept_high,
        guarded_low=guarded_low,
        guarded_high=guarded_high,
        bore_spread=Length.nearest(max(cold) - min(cold)),
        verdict=verdict,
        close_to_edge=close_to_edge,
    )


def bore_shape(*, levels: Sequence[Sequence[Length]], unit: str = "in") -> BoreShape:
    """Roundness and taper of a bore from readings at one or more heights.

    roundness = largest of (max − min) at one height, on diameter: by two-point gauging, twice the
    usual roundness deviation of an oval bore; taper = mean at the mouth − mean at the floor

    Parameters
    ----------
    levels : sequence of sequences of Length
        the readings of each height, from the mouth down, at least one each [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Returns
    -------
    BoreShape
        ``roundness`` is None without two readings at a height, ``taper`` None at a single height;
        a positive taper narrows toward the floor

    Raises
    ------
    CalculationError
        field ``levels``, without a reading at every height.

    >>> shape = bore_shape(levels=[[Length.of("1.6222"), Length.of("1.6224")],
    ...                            [Length.of("1.6221"), Length.of("1.6222")]])
    >>> shape.roundness.inches(4), shape.taper.inches(5)
    ('.0002', '.00015')
    """
    if not levels or not all(levels):
        raise CalculationError("levels", "needs at least one reading at every height")
    spreads = [spread(level) for level in levels if len(level) > 1]
    roundness = max(spreads) if spreads else None
    means = [mean_nm(level) for level in levels]
    taper = means[0] - means[-1] if len(levels) > 1 else None
    working = []
    if roundness is not None:
        working.append(
            Step(
                "ΔD",
                "largest spread at one height",
                shown_nm(roundness.nm, unit),
                unit,
                MEASURED,
            )
        )
    if taper is not None:
        shown = shown_sum(parts=[(1, means[0]), (-1, means[-1])], unit=unit)
        working += [
            Step("D_m", "mean at the mouth", shown.parts[0], unit, MEASURED),
            Step("D_f", "− mean at the floor", shown.parts[1], unit, MEASURED),
            Step("t", "taper", shown.total, unit, "difference", is_total=True),
        ]
    if not working:
        working.append(
            Step("D", "one reading: shape not known", shown_nm(means[0], unit), unit, MEASURED)
        )
    return BoreShape(
        calculation=Calculation("bore_shape", 1),
        inputs={"levels": tuple(tuple(level) for level in levels)},
        working=tuple(working),
        roundness=roundness,
        taper=None if taper is None else Length.nearest(taper),
    )


def _head_expansion(material: HeadMaterial | None, temperature_c: float) -> Expansion | None:
    if material is not None:
        return head_expansion(material=material)
    if temperature_c != REFERENCE_C:
        raise MissingError("head_material", "is needed when the bore was not read at 20 °C")
    return None


def _steps_to_reference(
    bore: Sequence[Length],
    bore_temperature_c: float,
    gauge_temperature_c: float,
    expansion: Expansion | None,
    unit: str,
) -> tuple[Step, ...]:
    return (
        Step(
            "B_T",
            f"mean bore as read, head at {bore_temperature_c:g} °C, "
            f"gauge at {gauge_temperature_c:g} °C",
            shown_nm(mean_nm(bore), unit),
            unit,
            MEASURED,
        ),
        *(
            (Step("α", "head", shown_ppm(expansion.alpha_per_k), "1e-6/K", expansion.source.cited),)
            if expansion and bore_temperature_c != REFERENCE_C
            else ()
        ),
        Step(
            "α_g",
            "gauge's scale",
            shown_ppm(GAUGE_ALPHA_PER_K),
            "1e-6/K",
            GAUGE_ALPHA_SOURCE.cited,
        ),
    )


def _steps_of_means(
    od_mean: Fraction,
    bore_mean: Fraction,
    *,
    counts: tuple[int, int],
    of_rings: bool,
    limits: Sequence[Length],
    unit: str,
) -> tuple[Step, ...]:
    shown = shown_sum(
        parts=[(1, od_mean), (-1, bore_mean)],
        unit=unit,
        limits=[limit.nm for limit in limits],
    )
    rings, bores = (f"mean of {count}" if count > 1 else "one reading" for count in counts)
    if of_rings:
        rings += " rings"
    return (
        Step("D", f"ring OD, {rings}", shown.parts[0], unit, MEASURED),
        Step("B", f"− bore, {bores}, at 20 °C", shown.parts[1], unit, REFERENCE_TEMPERATURE.cited),
        Step("I", "interference", shown.total, unit, "difference of the means", is_total=True),
    )


def _steps_of_window(
    least: Length, most: Length, guard: Length, decision_rule: DecisionRule, unit: str
) -> tuple[Step, ...]:
    source = GUARDS[decision_rule].source.cited
    low = shown_sum(parts=[(1, least.nm), (1, guard.nm)], unit=unit)
    high = shown_sum(parts=[(1, most.nm), (-1, guard.nm)], unit=unit)
    return (
        Step("I_min", "window's least", low.parts[0], unit, "rule"),
        Step("g", "+ guard band", low.parts[1], unit, source),
        Step("low", "accepted from", low.total, unit, source, is_total=True),
        Step("I_max", "window's most", high.parts[0], unit, "rule"),
        Step("g", "− guard band", high.parts[1], unit, source),
        Step("high", "accepted up to", high.total, unit, source, is_total=True),
    )
