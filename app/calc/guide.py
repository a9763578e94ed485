"""A guide: its shape, its clearance to the stem, the size to ream, and the grip of a new one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from app.calc.decision import DecisionRule
from app.calc.errors import CalculationError, ImpossibleError, OrderError
from app.calc.materials import REFERENCE_C, Expansion, HeadMaterial
from app.calc.rules import Interference
from app.calc.shown import shown_nm, shown_sum
from app.calc.sources import GEOMETRY, MEASURED
from app.calc.target import Target, target_bore
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, mean_nm
from app.calc.verify import Verification, verify

_NO_READING = "needs at least one reading"


@dataclass(frozen=True, kw_only=True)
class GuideShape(Result):
    """How far each end stands over the middle, and the wider end's: the bell-mouth.

    Negative where the middle is the widest. `out_of_round` is None without two readings at one
    height.
    """

    top_over: Length
    bottom_over: Length
    bell_mouth: Length
    end: str
    out_of_round: Length | None


@dataclass(frozen=True, kw_only=True)
class StemClearance(Result):
    """Guide less stem on diameter, where it is widest and where it is closest."""

    most: Length
    least: Length


@dataclass(frozen=True, kw_only=True)
class ReamedSize(Result):
    """The bore to ream a guide to, and the ends that keep the clearance in its window."""

    size: Length
    low: Length
    high: Length


def guide_shape(
    *,
    top: Sequence[Length],
    middle: Sequence[Length],
    bottom: Sequence[Length],
    unit: str = "in",
) -> GuideShape:
    """Bell-mouth of a guide from its bore at three heights.

    over = mean at an end − mean in the middle; bell-mouth = the larger of the two;
    out of round = largest (max − min) at one height

    Parameters
    ----------
    top, middle, bottom : sequence of Length
        bores at each height, one for each direction read [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Returns
    -------
    GuideShape
        on diameter, each rounded once from the exact means

    Raises
    ------
    CalculationError
        field ``top``, ``middle`` or ``bottom`` without a reading.

    >>> inch = Length.of
    >>> found = guide_shape(top=[inch(".3441"), inch(".3443")], middle=[inch(".3432")],
    ...                     bottom=[inch(".3436")])
    >>> found.bell_mouth.inches(4), found.end, found.out_of_round.inches(4)
    ('.0010', 'top', '.0002')
    """
    heights = {"top": top, "middle": middle, "bottom": bottom}
    for field, readings in heights.items():
        if not readings:
            raise CalculationError(field, _NO_READING)
    means = {name: mean_nm(readings) for name, readings in heights.items()}
    over = {end: means[end] - means["middle"] for end in ("top", "bottom")}
    end = "top" if over["top"] >= over["bottom"] else "bottom"
    shown = shown_sum(parts=[(1, means[end]), (-1, means["middle"])], unit=unit)
    other = "bottom" if end == "top" else "top"
    spreads = [max(read) - min(read) for read in heights.values() if len(read) > 1]
    return GuideShape(
        calculation=Calculation("guide_shape", 1),
        inputs={name: tuple(readings) for name, readings in heights.items()},
        working=(
            Step("G_o", f"bore at the {other}", shown_nm(means[other], unit), unit, MEASURED),
            Step("G_e", f"bore at the {end}, the wider end", shown.parts[0], unit, MEASURED),
            Step("G_m", "− bore in the middle", shown.parts[1], unit, MEASURED),
            Step("b", "bell-mouth", shown.total, unit, GEOMETRY, is_total=True),
        ),
        top_over=Length.nearest(over["top"]),
        bottom_over=Length.nearest(over["bottom"]),
        bell_mouth=Length.nearest(over[end]),
        end=end,
        out_of_round=max(spreads) if spreads else None,
    )


def stem_clearance(
    *, guide: Sequence[Length], stem: Sequence[Length], unit: str = "in"
) -> StemClearance:
    """Clearance of a valve stem in its guide, by bore and stem.

    most = largest bore − smallest stem; least = smallest bore − largest stem

    Parameters
    ----------
    guide : sequence of Length
        bores of the guide, wherever read [nm]
    stem : sequence of Length
        diameters of the stem where it runs [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Returns
    -------
    StemClearance
        on diameter, exact; negative where the stem would not enter

    Raises
    ------
    CalculationError
        field ``guide`` or ``stem`` without a reading.

    >>> found = stem_clearance(guide=[Length.of(".3441"), Length.of(".3434")],
    ...                        stem=[Length.of(".3415")])
    >>> found.most.inches(4), found.least.inches(4)
    ('.0026', '.0019')
    """
    for field, readings in (("guide", guide), ("stem", stem)):
        if not readings:
            raise CalculationError(field, _NO_READING)
    most, least = max(guide) - min(stem), min(guide) - max(stem)
    shown = shown_sum(parts=[(1, max(guide).nm), (-1, min(stem).nm)], unit=unit)
    return StemClearance(
        calculation=Calculation("stem_clearance", 1),
        inputs={"guide": tuple(guide), "stem": tuple(stem)},
        working=(
            Step("G", "largest guide bore", shown.parts[0], unit, MEASURED),
            Step("s", "− smallest stem", shown.parts[1], unit, MEASURED),
            Step("c", "clearance where it is widest", shown.total, unit, GEOMETRY, is_total=True),
        ),
        most=most,
        least=least,
    )


def reamed_size(
    *, stem: Sequence[Length], least: Length, most: Length, rule_source: str, unit: str = "in"
) -> ReamedSize:
    """Size to ream a guide to, so that this stem runs with the wanted clearance.

    low = largest stem + least; high = smallest stem + most; size = (low + high)/2

    Parameters
    ----------
    stem : sequence of Length
        diameters of the stem that is to run in it [nm]
    least, most : Length
        the wanted clearance, on diameter [nm]
    rule_source : str
        who says so, for the working [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Returns
    -------
    ReamedSize
        the middle to the nearest nanometre, ties to even

    Raises
    ------
    CalculationError
        field ``stem`` without a reading, ``least`` above the most, ``most`` when the stem's own
        readings leave no size between the two.

    >>> found = reamed_size(stem=[Length.of(".3415")], least=Length.of(".0010"),
    ...                     most=Length.of(".0024"), rule_source="shop")
    >>> found.low.inches(4), found.size.inches(4), found.high.inches(4)
    ('.3425', '.3432', '.3439')
    """
    if not stem:
        raise CalculationError("stem", _NO_READING)
    if least > most:
        raise OrderError("least", "is above the most clearance")
    low, high = max(stem) + least, min(stem) + most
    if low > high:
        raise ImpossibleError("most", "leaves no size: the stem differs by more along its length")
    from_low = shown_sum(parts=[(1, max(stem).nm), (1, least.nm)], unit=unit)
    from_high = shown_sum(parts=[(1, min(stem).nm), (1, most.nm)], unit=unit)
    middle = Fraction(low.nm + high.nm, 2)
    return ReamedSize(
        calculation=Calculation("reamed_size", 1),
        inputs={"stem": tuple(stem), "least": least, "most": most, "rule_source": rule_source},
        working=(
            Step("s", "stem", from_low.parts[0], unit, MEASURED),
            Step("c", "+ least clearance", from_low.parts[1], unit, rule_source),
            Step("low", "ream no smaller than", from_low.total, unit, GEOMETRY, is_total=True),
            Step("c", "most clearance", from_high.parts[1], unit, rule_source),
            Step("high", "and no larger than", from_high.total, unit, GEOMETRY, is_total=True),
            Step("G", "the middle", shown_nm(middle, unit), unit, GEOMETRY, is_total=True),
        ),
        size=Length.nearest(middle),
        low=low,
        high=high,
    )


def housing_bore(
    *, guide_od: Sequence[Length], window: Interference, rule_source: str, unit: str = "in"
) -> Target:
    """Bore in the head for a measured new guide: what a ring's counterbore is worked by.

    B = mean OD − aim; window [mean OD − most, mean OD − least]

    Parameters
    ----------
    guide_od : sequence of Length
        outside diameters of the new guide at 20 °C [nm]
    window : Interference
        the wanted grip, on diameter [nm]
    rule_source : str
        who says so, for the working [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``guide_od`` without a reading.

    >>> window = Interference(Length.of(".0010"), Fraction(Length.of(".0015").nm),
    ...                       Length.of(".0020"))
    >>> found = housing_bore(guide_od=[Length.of(".5020")], window=window, rule_source="shop")
    >>> found.bore_low.inches(4), found.target_bore.inches(4), found.bore_high.inches(4)
    ('.5000', '.5005', '.5010')
    """
    if not guide_od:
        raise CalculationError("guide_od", _NO_READING)
    found = target_bore(
        ring_od_nm=mean_nm(guide_od), window=window, rule_source=rule_source, unit=unit
    )
    return replace(
        found, calculation=Calculation("housing_bore", 1), working=_of_a_guide(found.working)
    )


def guide_fit(
    *,
    guide_od: Sequence[Length],
    housing: Sequence[Length],
    least: Length,
    most: Length,
    guide_uncertainty: Length,
    housing_uncertainty: Length,
    decision_rule: DecisionRule,
    head_material: HeadMaterial | None = None,
    alloy_expansion: Expansion | None = None,
    head_temperature_c: float = REFERENCE_C,
    gauge_temperature_c: float = REFERENCE_C,
    unit: str = "in",
) -> Verification:
    """Judge the grip of a new guide in its bore, by the same verdict as a seat ring's.

    I = mean guide OD − mean bore at 20 °C, held against least … most

    Parameters
    ----------
    guide_od : sequence of Length
        outside diameters of the new guide, at 20 °C [nm]
    housing : sequence of Length
        bore in the head, as read [nm]
    least, most : Length
        the wanted grip, on diameter [nm]
    guide_uncertainty, housing_uncertainty : Length
        of the two means, expanded, k = 2 [nm]
    decision_rule : DecisionRule
        how the possible error is taken in [-]
    head_material : HeadMaterial or None
        needed when the bore was not read at 20 °C [-]
    alloy_expansion : Expansion or None
        of this very alloy, instead of the head material's [-]
    head_temperature_c, gauge_temperature_c : float
        when the bore was read [°C]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Returns
    -------
    Verification
        as for a ring: its ring is the guide, its bore the guide's bore in the head

    Raises
    ------
    CalculationError
        field ``guide_od`` or ``housing`` without a reading, ``least`` above the most,
        ``head_material`` when the temperature needs it.

    >>> found = guide_fit(
    ...     guide_od=[Length.of("11.023", "mm")], housing=[Length.of("10.996", "mm")],
    ...     least=Length.of("0.027", "mm"), most=Length.of("0.059", "mm"),
    ...     guide_uncertainty=Length(0), housing_uncertainty=Length(0),
    ...     decision_rule=DecisionRule.SIMPLE, unit="mm")
    >>> found.interference.mm(3), found.verdict.value
    ('0.027', 'inside')
    """
    for field, readings in (("guide_od", guide_od), ("housing", housing)):
        if not readings:
            raise CalculationError(field, _NO_READING)
    if least > most:
        raise OrderError("least", "is above the most")
    found = verify(
        ring_od=guide_od,
        bore=housing,
        interference_min=least,
        interference_max=most,
        ring_uncertainty=guide_uncertainty,
        bore_uncertainty=housing_uncertainty,
        decision_rule=decision_rule,
        head_material=head_material,
        alloy_expansion=alloy_expansion,
        bore_temperature_c=head_temperature_c,
        gauge_temperature_c=gauge_temperature_c,
        unit=unit,
    )
    return replace(
        found, calculation=Calculation("guide_fit", 1), working=_of_a_guide(found.working)
    )


def _of_a_guide(working: Sequence[Step]) -> tuple[Step, ...]:
    """The steps of a ring's sum with a guide's name on them; no figure changes."""
    return tuple(
        replace(
            step,
            symbol=step.symbol.replace("ring", "guide"),
            text=step.text.replace("ring", "guide").replace("target bore", "bore in the head"),
        )
        for step in working
    )
