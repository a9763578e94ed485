"""Spindle speed from surface speed and diameter."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import isfinite, pi

from app.calc.errors import CalculationError
from app.calc.shown import shown_nm
from app.calc.sources import GEOMETRY, GIVEN
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, exact

NM_PER_SPEED_UNIT = {"ft/min": 304_800_000, "m/min": 1_000_000_000}


@dataclass(frozen=True, kw_only=True)
class SpindleSpeed(Result):
    """Revolutions a minute, not rounded."""

    rpm: float


def spindle_speed(
    *, diameter: Length, surface_speed: float, speed_unit: str, unit: str = "in"
) -> SpindleSpeed:
    """Revolutions a minute that give a surface speed at a diameter.

    n = 1000·v/(π·D), v in m/min and D in mm; n = 12·V/(π·D), V in ft/min and D in inches

    Parameters
    ----------
    diameter : Length
        diameter cut, above 0 [nm]
    surface_speed : float
        above 0 [speed_unit]
    speed_unit : str
        ``ft/min`` or ``m/min`` [-]
    unit : str
        ``in`` or ``mm``, in which the working shows the diameter [-]

    Raises
    ------
    CalculationError
        field ``diameter`` or ``surface_speed`` when it is not above 0, ``surface_speed.unit``
        for another unit.

    >>> half_inch = Length.of(".5")
    >>> round(spindle_speed(diameter=half_inch, surface_speed=300, speed_unit="ft/min").rpm, 1)
    2291.8
    >>> round(spindle_speed(diameter=Length.of("20 mm"), surface_speed=35, speed_unit="m/min").rpm)
    557
    """
    if diameter.nm <= 0:
        raise CalculationError("diameter", "must be above 0")
    if speed_unit not in NM_PER_SPEED_UNIT:
        raise CalculationError("surface_speed.unit", "must be ft/min or m/min")
    if not (isfinite(surface_speed) and surface_speed > 0):
        raise CalculationError("surface_speed", "must be above 0")
    turns = Fraction(exact(surface_speed) * NM_PER_SPEED_UNIT[speed_unit], diameter.nm)
    rpm = float(turns) / pi
    return SpindleSpeed(
        calculation=Calculation("spindle", 1),
        inputs={
            "diameter": diameter,
            "surface_speed": surface_speed,
            "speed_unit": speed_unit,
        },
        working=(
            Step("v", "surface speed", f"{surface_speed:g}", speed_unit, GIVEN),
            Step(
                "D",
                "diameter",
                shown_nm(diameter.nm, unit, inch_places=4, mm_places=3),
                unit,
                GIVEN,
            ),
            Step("n", "v/(π·D)", f"{rpm:.0f}", "rev/min", GEOMETRY, is_total=True),
        ),
        rpm=rpm,
    )
