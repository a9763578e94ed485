"""Where to start with the spindle: surface speeds that head shops use, for a single-point tip."""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.spindle import SpeedUnit, spindle_speed
from app.calc.units import Length
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Material

ENDS = ("slowest", "fastest")


@dataclass(frozen=True, slots=True)
class SpindleHint:
    """A range to start in; the maker of tip and machine says more."""

    rpm_low: int
    rpm_high: int
    told: str


def spindle_hint(
    material: Material | None, diameter: Length, rules: ShopRules, unit: str
) -> SpindleHint | None:
    """Revolutions by the shop's surface speeds, in steps of ten; None without a material."""
    if material is None:
        return None
    keys = [
        f"speed_{'aluminium' if material is Material.ALUMINIUM else 'iron'}_{end}" for end in ENDS
    ]
    slow, fast = sorted(rules.whole(key) for key in keys)
    low, high = (
        round(
            spindle_speed(
                diameter=diameter, surface_speed=feet, speed_unit=SpeedUnit.FEET_PER_MINUTE
            ).rpm,
            -1,
        )
        for feet in (slow, fast)
    )
    told = " and ".join(dict.fromkeys(rules.source(key) for key in keys))
    speeds = f"{slow}–{fast} ft/min"
    if unit == "mm":
        speeds = f"{round(slow * 0.3048)}–{round(fast * 0.3048)} m/min"
    return SpindleHint(
        int(low),
        int(high),
        f"{speeds} in {material.screen}, {told}; the makers' figures come first",
    )
