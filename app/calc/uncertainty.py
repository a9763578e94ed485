"""How far an interference may be wrong: instruments, repeatability, temperature, shared master.

Every figure here is expanded with k = 2: about 19 in 20 errors are no larger.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from app.calc.errors import CalculationError
from app.calc.shown import shown_nm
from app.calc.sources import SHARED_ERROR, SUM_OF_SQUARES, Source
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, exact, root_nm

NONE = Length(0)
COVERAGE = "k = 2"


@dataclass(frozen=True, kw_only=True)
class Uncertainty(Result):
    """An expanded uncertainty (k = 2), rounded, and its exact square for what is built on it."""

    expanded: Length
    squared_nm2: Fraction


def reading_uncertainty(
    *, instrument: Length, repeatability: Length, readings: int, unit: str = "in"
) -> Uncertainty:
    """Uncertainty of the mean of some readings with one instrument.

    U² = U_instrument² + U_repeatability²/n

    Parameters
    ----------
    instrument : Length
        the instrument's own, its master included, k = 2 [nm]
    repeatability : Length
        twice the standard deviation of a single reading [nm]
    readings : int
        n, 1 or more [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``instrument`` or ``repeatability`` when negative, ``readings`` below 1.

    >>> reading_uncertainty(instrument=Length.of(".0001"), repeatability=Length.of(".0002"),
    ...                     readings=4).expanded.inches(6)
    '.000141'
    """
    _none_negative(instrument=instrument, repeatability=repeatability)
    if readings < 1:
        raise CalculationError("readings", "must be at least 1")
    squared = instrument.nm**2 + Fraction(repeatability.nm**2, readings)
    of_mean = root_nm(Fraction(repeatability.nm**2, readings))
    return _uncertainty(
        name="reading_uncertainty",
        inputs={"instrument": instrument, "repeatability": repeatability, "readings": readings},
        steps=(
            _step("U_i", "instrument", instrument, unit, COVERAGE),
            _step("U_r/√n", f"repeatability, mean of {readings}", of_mean, unit, COVERAGE),
        ),
        squared=squared,
        text="uncertainty of the mean",
        unit=unit,
    )


def temperature_uncertainty(
    *,
    diameter: Length,
    ring_alpha_per_k: float,
    head_alpha_per_k: float,
    ring_temperature_u_k: float,
    head_temperature_u_k: float,
    one_thermometer: bool = False,
    unit: str = "in",
) -> Uncertainty:
    """What not knowing the temperatures exactly does to the interference.

    apart: U² = (D·α_r·U_Tr)² + (D·α_h·U_Th)²; one thermometer for both, its error shared:
    U = D·|α_h·U_Th − α_r·U_Tr|

    Parameters
    ----------
    diameter : Length
        D, of ring and bore [nm]
    ring_alpha_per_k : float
        the ring's mean expansion [1/K]
    head_alpha_per_k : float
        the head's mean expansion [1/K]
    ring_temperature_u_k : float
        uncertainty of the ring's temperature, k = 2 [K]
    head_temperature_u_k : float
        uncertainty of the head's temperature, k = 2 [K]
    one_thermometer : bool
        True when one reading, such as the shop's temperature of the day, stands for both [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        with the field's name, for a negative value.

    >>> shop = dict(diameter=Length.of("1.625"), ring_alpha_per_k=11.4e-6, head_alpha_per_k=21.5e-6,
    ...             ring_temperature_u_k=2.0, head_temperature_u_k=2.0)
    >>> temperature_uncertainty(**shop).expanded.inches(6)
    '.000079'
    >>> temperature_uncertainty(**shop, one_thermometer=True).expanded.inches(6)
    '.000033'
    """
    numbers = {
        "ring_alpha_per_k": ring_alpha_per_k,
        "head_alpha_per_k": head_alpha_per_k,
        "ring_temperature_u_k": ring_temperature_u_k,
        "head_temperature_u_k": head_temperature_u_k,
    }
    for field, number in numbers.items():
        if number < 0:
            raise CalculationError(field, "cannot be negative")
    ring = diameter.nm * exact(ring_alpha_per_k) * exact(ring_temperature_u_k)
    head = diameter.nm * exact(head_alpha_per_k) * exact(head_temperature_u_k)
    squared = (head - ring) ** 2 if one_thermometer else head**2 + ring**2
    return _uncertainty(
        name="temperature_uncertainty",
        inputs={"diameter": diameter, **numbers, "one_thermometer": one_thermometer},
        steps=(
            _step("D·α_r·U_T", "ring's temperature", Length.nearest(ring), unit, COVERAGE),
            _step("D·α_h·U_T", "head's temperature", Length.nearest(head), unit, COVERAGE),
        ),
        squared=squared,
        text="uncertainty from temperature",
        unit=unit,
        source=SHARED_ERROR if one_thermometer else SUM_OF_SQUARES,
    )


def interference_uncertainty(
    *,
    ring_uncertainty: Length,
    bore_uncertainty: Length,
    shared_master: Length = NONE,
    temperature: Length = NONE,
    unit: str = "in",
) -> Uncertainty:
    """Uncertainty of ring OD − bore.

    U² = U_ring² + U_bore² − 2·U_master² + U_temperature². A master that both gauges were zeroed on
    is in both readings with the same error, which the difference takes out again.

    Parameters
    ----------
    ring_uncertainty : Length
        of the mean ring OD, master included, k = 2 [nm]
    bore_uncertainty : Length
        of the mean bore, master included, k = 2 [nm]
    shared_master : Length
        of the one master for both, k = 2; 0 when each gauge has its own [nm]
    temperature : Length
        from temperature, k = 2 [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        with the field's name, for a negative value; field ``shared_master`` when it is larger
        than what it is part of.

    >>> u = interference_uncertainty(ring_uncertainty=Length.of(".0002"),
    ...                              bore_uncertainty=Length.of(".0003"))
    >>> u.expanded.inches(5)
    '.00036'
    """
    _none_negative(
        ring_uncertainty=ring_uncertainty,
        bore_uncertainty=bore_uncertainty,
        shared_master=shared_master,
        temperature=temperature,
    )
    if shared_master > min(ring_uncertainty, bore_uncertainty):
        raise CalculationError("shared_master", "is part of both uncertainties; it is larger")
    steps = [
        _step("U_ring", "possible error of the mean ring OD", ring_uncertainty, unit, COVERAGE),
        _step("U_bore", "possible error of the mean bore", bore_uncertainty, unit, COVERAGE),
    ]
    if shared_master:
        steps.append(
            _step(
                "U_m",
                "master of both gauges, taken out twice",
                shared_master,
                unit,
                SHARED_ERROR.cited,
            )
        )
    if temperature:
        steps.append(_step("U_T", "possible error from temperature", temperature, unit, COVERAGE))
    squared = (
        ring_uncertainty.nm**2
        + bore_uncertainty.nm**2
        - 2 * shared_master.nm**2
        + temperature.nm**2
    )
    return _uncertainty(
        name="interference_uncertainty",
        inputs={
            "ring_uncertainty": ring_uncertainty,
            "bore_uncertainty": bore_uncertainty,
            "shared_master": shared_master,
            "temperature": temperature,
        },
        steps=tuple(steps),
        squared=Fraction(squared),
        text="possible error of the interference",
        unit=unit,
    )


def _none_negative(**lengths: Length) -> None:
    for field, length in lengths.items():
        if length.nm < 0:
            raise CalculationError(field, "cannot be negative")


def _step(symbol: str, text: str, length: Length, unit: str, source: str) -> Step:
    return Step(symbol, text, shown_nm(length.nm, unit), unit, source)


def _uncertainty(
    *,
    name: str,
    inputs: dict[str, object],
    steps: tuple[Step, ...],
    squared: Fraction,
    text: str,
    unit: str,
    source: Source = SUM_OF_SQUARES,
) -> Uncertainty:
    expanded = root_nm(squared)
    total = Step("U", text, shown_nm(expanded.nm, unit), unit, source.cited, is_total=True)
    return Uncertainty(
        calculation=Calculation(name, 1),
        inputs=inputs,
        working=(*steps, total),
        expanded=expanded,
        squared_nm2=squared,
    )
