"""Where to start with the spindle: surface speeds that head shops use, for a single-point tip."""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.materials import HeadMaterial
from app.calc.spindle import HEAD_SPEEDS_FT_MIN, SpeedUnit, spindle_speed
from app.calc.units import Length
from app.workflow.words import Material


@dataclass(frozen=True, slots=True)
class SpindleHint:
    """A range to start in; the maker of tip and machine says more."""

    rpm_low: int
    rpm_high: int
    told: str


def spindle_hint(material: Material | None, diameter: Length, unit: str) -> SpindleHint | None:
    """Revolutions for a diameter in a head material, in steps of ten; None without a material."""
    if material is None:
        return None
    slow, fast = HEAD_SPEEDS_FT_MIN[HeadMaterial(material.value)]
    low, high = (
        round(
            spindle_speed(
                diameter=diameter, surface_speed=feet, speed_unit=SpeedUnit.FEET_PER_MINUTE
            ).rpm,
            -1,
        )
        for feet in (slow, fast)
    )
    speeds = f"{slow}–{fast} ft/min"
    if unit == "mm":
        speeds = f"{round(slow * 0.3048)}–{round(fast * 0.3048)} m/min"
    return SpindleHint(
        int(low),
        int(high),
        f"{speeds}, common practice in {material.screen}; the makers' figures come first",
    )
