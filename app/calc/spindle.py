"""Spindle speed from surface speed and diameter."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from math import isfinite, pi

from app.calc.errors import CalculationError
from app.calc.materials import HeadMaterial
from app.calc.shown import shown_nm
from app.calc.sources import GEOMETRY, GIVEN
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, exact


class SpeedUnit(Enum):
    """The two units of surface speed that tables print."""

    FEET_PER_MINUTE = "ft/min"
    METRES_PER_MINUTE = "m/min"


NM_PER_SPEED_UNIT = {
    SpeedUnit.FEET_PER_MINUTE: 304_800_000,
    SpeedUnit.METRES_PER_MINUTE: 1_000_000_000,
}
# Where to start, slow and fast, for one carbide tip on a long floating spindle.
HEAD_SPEEDS_FT_MIN: dict[HeadMaterial, tuple[int, int]] = {
    HeadMaterial.GREY_IRON: (60, 150),
    HeadMaterial.DUCTILE_IRON: (60, 150),
    HeadMaterial.ALUMINIUM: (150, 400),
}


@dataclass(frozen=True, kw_only=True)
class SpindleSpeed(Result):
    """Revolutions a minute, not rounded."""

    rpm: float


def spindle_speed(
    *, diameter: Length, surface_speed: float, speed_unit: SpeedUnit, unit: str = "in"
) -> SpindleSpeed:
    """Revolutions a minute that give a surface speed at a diameter.

    n = 1000·v/(π·D), v in m/min and D in mm; n = 12·V/(π·D), V in ft/min and D in inches

    Parameters
    ----------
    diameter : Length
        diameter cut, above 0 [nm]
    surface_speed : float
        above 0 [speed_unit]
    speed_unit : SpeedUnit
        ft/min or m/min [-]
    unit : str
        ``in`` or ``mm``, in which the working shows the diameter [-]

    Raises
    ------
    CalculationError
        field ``diameter`` or ``surface_speed.value``, when it is not above 0.

    >>> round(spindle_speed(diameter=Length.of(".5"), surface_speed=300,
    ...                     speed_unit=SpeedUnit.FEET_PER_MINUTE).rpm, 1)
    2291.8
    >>> round(spindle_speed(diameter=Length.of("20 mm"), surface_speed=35,
    ...                     speed_unit=SpeedUnit.METRES_PER_MINUTE).rpm)
    557
    """
    if diameter.nm <= 0:
        raise CalculationError("diameter", "must be above 0")
    if not (isfinite(surface_speed) and surface_speed > 0):
        raise CalculationError("surface_speed.value", "must be above 0")
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
            Step("v", "surface speed", f"{surface_speed:g}", speed_unit.value, GIVEN),
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
