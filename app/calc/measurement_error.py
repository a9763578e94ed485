"""How far a measured interference may be wrong: instruments, masters, readings, temperatures.

The three figures that `verify` takes (ring, bore, temperature) come out with k = 2, each with its
parts listed, so that one page shows where the doubt comes from.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from app.calc.errors import CalculationError
from app.calc.gum import Part, combine_parts, standard_of_division, standard_of_limits
from app.calc.materials import GAUGE_ALPHA_PER_K, REFERENCE_C
from app.calc.shown import shown_nm
from app.calc.sources import (
    INDICATION,
    LAST_CHECK,
    OF_A_MEAN,
    RECTANGULAR,
    SHARED_ERROR,
    SUM_OF_SQUARES,
)
from app.calc.trace import Calculation, Result, Step
from app.calc.uncertainty import interference_uncertainty
from app.calc.units import Length, exact, root_nm

NOTHING = Length(0)


@dataclass(frozen=True, slots=True)
class Gauge:
    """An instrument: what it may err by (±), one division, its last check, what it was zeroed on.

    `check_error` is read − master at the last check, 0 before any; `master` is the expanded
    uncertainty (k = 2) of the size that it was zeroed on.
    """

    greatest_error: Length
    division: Length
    check_error: Length = NOTHING
    master: Length = NOTHING


@dataclass(frozen=True, slots=True)
class Taken:
    """How a size was read: with what, how often, how well it repeats, and how warm.

    `repeatability` is twice the standard deviation of one reading. `alpha_per_k` is what the size
    was taken to 20 °C with, 0 where it was taken as read; `alpha_within_per_k` is how far the true
    one may lie from it.
    """

    gauge: Gauge
    readings: int
    repeatability: Length
    temperature_c: float | Fraction
    alpha_per_k: float | Fraction
    alpha_within_per_k: float | Fraction


@dataclass(frozen=True, kw_only=True)
class SizeError(Result):
    """An expanded uncertainty (k = 2), with its square and the parts that it was summed from."""

    expanded: Length
    squared_nm2: Fraction
    parts: tuple[Part, ...]


@dataclass(frozen=True, kw_only=True)
class InterferenceError(Result):
    """What `verify` takes, k = 2, and all of it together."""

    ring: Length
    bore: Length
    shared_master: Length
    temperature: Length
    expanded: Length
    squared_nm2: Fraction


def size_error(*, taken: Taken, what: str = "size", unit: str = "in") -> SizeError:
    """Uncertainty of a mean of readings with one instrument, temperature apart.

    u² = max(G, |check|)²/3 + d²/12 + (U_m/2)² + (R/2)²/n; U = 2·u

    Parameters
    ----------
    taken : Taken
        instrument and readings [-]
    what : str
        what was read, for the working [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``readings`` below 1; ``greatest_error``, ``division``, ``master`` or
        ``repeatability`` negative.

    >>> gauge = Gauge(Length.of(".0001"), Length.of(".0001"), master=Length.of(".00005"))
    >>> taken = Taken(gauge, 4, Length.of(".0001"), 20, 0, 0)
    >>> size_error(taken=taken).expanded.inches(5)
    '.00015'
    """
    _check(taken)
    parts = _parts_of_size(taken, what, unit)
    found = combine_parts(parts=parts, unit=unit)
    return SizeError(
        calculation=Calculation("size-error", 1),
        inputs={"taken": taken},
        working=found.working,
        expanded=found.expanded,
        squared_nm2=4 * found.squared_nm2,
        parts=parts,
    )


def thermal_error(
    *,
    diameter: Length,
    ring: Taken,
    bore: Taken,
    within_k: float | Fraction,
    is_one_thermometer: bool,
    unit: str = "in",
) -> SizeError:
    """What temperatures and expansions that are not quite known do to ring OD − bore.

    of each temperature: D·α·ΔT/√3, of each gauge D·α_g·ΔT/√3, of each expansion
    D·|T − 20|·Δα/√3; one thermometer for all errs alike: D·|α_h − α_r|·ΔT/√3, gauges cancel

    Parameters
    ----------
    diameter : Length
        D, of ring and bore [nm]
    ring : Taken
        how the ring was read [-]
    bore : Taken
        how the bore was read [-]
    within_k : float or Fraction
        ΔT, limits within which each temperature is known [K]
    is_one_thermometer : bool
        True when one reading, such as the shop's of the day, stands for all [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``within_k`` when negative.

    >>> gauge = Gauge(Length.of(".0001"), Length.of(".0001"))
    >>> ring = Taken(gauge, 4, Length(0), 24, 11.4e-6, 1e-6)
    >>> bore = Taken(gauge, 4, Length(0), 24, 21.5e-6, 2e-6)
    >>> apart = thermal_error(diameter=Length.of("1.625"), ring=ring, bore=bore, within_k=2,
    ...                       is_one_thermometer=False)
    >>> together = thermal_error(diameter=Length.of("1.625"), ring=ring, bore=bore, within_k=2,
    ...                          is_one_thermometer=True)
    >>> apart.expanded.inches(5), together.expanded.inches(5)
    ('.00011', '.00004')
    """
    if within_k < 0:
        raise CalculationError("within_k", "cannot be negative")
    parts = _parts_of_heat(diameter, ring, bore, exact(within_k), is_one_thermometer)
    found = combine_parts(parts=parts, unit=unit)
    return SizeError(
        calculation=Calculation("thermal-error", 1),
        inputs={
            "diameter": diameter,
            "ring": ring,
            "bore": bore,
            "within_k": within_k,
            "is_one_thermometer": is_one_thermometer,
        },
        working=found.working,
        expanded=found.expanded,
        squared_nm2=4 * found.squared_nm2,
        parts=parts,
    )


def interference_error(
    *,
    diameter: Length,
    ring: Taken,
    bore: Taken,
    shares_master: bool,
    within_k: float | Fraction,
    is_one_thermometer: bool,
    unit: str = "in",
) -> InterferenceError:
    """All of the possible error of ring OD − bore, for the decision rule.

    U² = U_ring² + U_bore² − 2·U_master² + U_temperature²; a master that both were zeroed on is in
    both with one error, which the difference takes out

    Parameters
    ----------
    diameter : Length
        D, of ring and bore [nm]
    ring : Taken
        how the ring was read [-]
    bore : Taken
        how the bore was read [-]
    shares_master : bool
        both instruments were zeroed on one master; the smaller of the two figures for it is
        taken as shared [-]
    within_k : float or Fraction
        limits within which each temperature is known [K]
    is_one_thermometer : bool
        one reading of temperature stands for all [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        as `size_error` and `thermal_error`, with ``ring.`` or ``bore.`` before a reading's field.

    >>> micrometer = Gauge(Length.of(".0001"), Length.of(".0001"), master=Length.of(".00005"))
    >>> bore_gauge = Gauge(Length.of(".0002"), Length.of(".0001"), master=Length.of(".00005"))
    >>> found = interference_error(
    ...     diameter=Length.of("1.625"), ring=Taken(micrometer, 4, Length.of(".0001"), 20, 0, 0),
    ...     bore=Taken(bore_gauge, 2, Length.of(".0002"), 20, 21.5e-6, 2e-6),
    ...     shares_master=True, within_k=2, is_one_thermometer=True)
    >>> found.expanded.inches(5)
    '.00032'
    """
    sides: dict[str, SizeError] = {}
    for side, taken in (("ring", ring), ("bore", bore)):
        try:
            sides[side] = size_error(
                taken=taken, what="ring OD" if side == "ring" else "bore", unit=unit
            )
        except CalculationError as error:
            raise CalculationError(f"{side}.{error.field}", error.message) from None
    heat = thermal_error(
        diameter=diameter,
        ring=ring,
        bore=bore,
        within_k=within_k,
        is_one_thermometer=is_one_thermometer,
        unit=unit,
    )
    shared = min(ring.gauge.master, bore.gauge.master) if shares_master else NOTHING
    squared = (
        sides["ring"].squared_nm2 + sides["bore"].squared_nm2 - 2 * shared.nm**2 + heat.squared_nm2
    )
    summed = interference_uncertainty(
        ring_uncertainty=sides["ring"].expanded,
        bore_uncertainty=sides["bore"].expanded,
        shared_master=shared,
        temperature=heat.expanded,
        unit=unit,
    )
    expanded = root_nm(squared)
    return InterferenceError(
        calculation=Calculation("interference-error", 1),
        inputs={
            "diameter": diameter,
            "ring": ring,
            "bore": bore,
            "shares_master": shares_master,
            "within_k": within_k,
            "is_one_thermometer": is_one_thermometer,
        },
        working=(
            *sides["ring"].working,
            *sides["bore"].working,
            *heat.working,
            *summed.working[:-1],
            Step(
                "U",
                "possible error of the interference, ±",
                shown_nm(expanded.nm, unit),
                unit,
                SHARED_ERROR.cited if shared else SUM_OF_SQUARES.cited,
                is_total=True,
            ),
        ),
        ring=sides["ring"].expanded,
        bore=sides["bore"].expanded,
        shared_master=shared,
        temperature=heat.expanded,
        expanded=expanded,
        squared_nm2=squared,
    )


def _check(taken: Taken) -> None:
    if taken.readings < 1:
        raise CalculationError("readings", "must be at least 1")
    for field, length in (
        ("greatest_error", taken.gauge.greatest_error),
        ("division", taken.gauge.division),
        ("master", taken.gauge.master),
        ("repeatability", taken.repeatability),
    ):
        if length.nm < 0:
            raise CalculationError(field, "cannot be negative")


def _parts_of_size(taken: Taken, what: str, unit: str) -> tuple[Part, ...]:
    gauge = taken.gauge
    limit = max(gauge.greatest_error, abs(gauge.check_error))
    by_check = limit > gauge.greatest_error
    return (
        Part(
            "u_i",
            f"{what}: instrument, within ± {shown_nm(limit.nm, unit)} {unit}"
            + (" as its last check found" if by_check else ""),
            standard_of_limits(half_width=limit),
            LAST_CHECK.cited if by_check else RECTANGULAR.cited,
        ),
        Part(
            "u_d",
            f"{what}: one division",
            standard_of_division(division=gauge.division),
            INDICATION.cited,
        ),
        Part(
            "u_m",
            f"{what}: the master that it was zeroed on",
            Fraction(gauge.master.nm**2, 4),
            "half of its U",
        ),
        Part(
            "u_r",
            f"{what}: repeatability, mean of {taken.readings}",
            Fraction(taken.repeatability.nm**2, 4 * taken.readings),
            OF_A_MEAN.cited,
        ),
    )


def _parts_of_heat(
    diameter: Length, ring: Taken, bore: Taken, within_k: Fraction, is_one_thermometer: bool
) -> tuple[Part, ...]:
    alphas = exact(ring.alpha_per_k), exact(bore.alpha_per_k)
    off = [exact(taken.temperature_c) - REFERENCE_C for taken in (ring, bore)]
    known = [
        _limits(
            "u_α",
            f"{what}'s expansion, read {abs(float(by)):g} K off 20 °C",
            diameter.nm * by * exact(taken.alpha_within_per_k),
        )
        for what, taken, by in (("ring", ring, off[0]), ("head", bore, off[1]))
    ]
    if is_one_thermometer:
        apart = alphas[1] - alphas[0]
        return (
            _limits(
                "u_T", "one thermometer for all, ring and head", diameter.nm * apart * within_k
            ),
            *known,
        )
    by_gauge = diameter.nm * GAUGE_ALPHA_PER_K * within_k
    return (
        _limits("u_T", "ring's temperature", diameter.nm * alphas[0] * within_k),
        _limits("u_T", "head's temperature", diameter.nm * alphas[1] * within_k),
        _limits("u_g", "temperature of the ring's gauge", by_gauge),
        _limits("u_g", "temperature of the bore gauge", by_gauge),
        *known,
    )


def _limits(symbol: str, words: str, half_width_nm: Fraction) -> Part:
    return Part(symbol, words, half_width_nm**2 / 3, RECTANGULAR.cited)
