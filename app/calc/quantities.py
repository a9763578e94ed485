"""Which figures are plausible, by field: one table for the interface and for every form.

A figure outside its range is refused, so that millimetres typed as inches cannot pass.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import isfinite

from app.calc.units import Length, trimmed


@dataclass(frozen=True, slots=True)
class LengthRange:
    """Plausible lengths of a field, ends included; `zero_too` admits 0 outside the range."""

    low: Length
    high: Length
    zero_too: bool = False

    def admits(self, length: Length) -> bool:
        """Whether a length may be what this field means."""
        return self.low <= length <= self.high or (self.zero_too and not length)

    def refusal(self, length: Length) -> str | None:
        """Why a length is refused, or None."""
        return None if self.admits(length) else f"is outside {self.words}"

    @property
    def words(self) -> str:
        """The range in both units: ``.3938 to 5.9055 in (10 to 150 mm)``.

        Inches are rounded inwards: a figure at the end that is shown is admitted.
        """
        last_digit = Length.of(".0001").nm
        low = Length(-(-self.low.nm // last_digit) * last_digit)
        high = Length(self.high.nm // last_digit * last_digit)
        inches = " to ".join(trimmed(end.inches(4)) or "0" for end in (low, high)) + " in"
        return f"{inches} ({trimmed(self.low.mm(4))} to {trimmed(self.high.mm(4))} mm)"


@dataclass(frozen=True, slots=True)
class NumberRange:
    """Plausible numbers of a field; ends are included unless said otherwise."""

    low: float
    high: float
    unit: str
    low_included: bool = True
    high_included: bool = True

    def admits(self, value: float | int | Fraction) -> bool:
        """Whether a number may be what this field means."""
        if isinstance(value, float) and not isfinite(value):
            return False
        above = value >= self.low if self.low_included else value > self.low
        below = value <= self.high if self.high_included else value < self.high
        return above and below

    def refusal(self, value: float | int | Fraction) -> str | None:
        """Why a number is refused, or None."""
        return None if self.admits(value) else f"is outside {self.words}"

    @property
    def words(self) -> str:
        """The range with its unit: ``-273.15 to 1200 °C``."""
        low = f"{self.low:g}" if self.low_included else f"above {self.low:g}"
        high = f"{self.high:g}" if self.high_included else f"below {self.high:g}"
        return f"{low} to {high} {self.unit}".rstrip()


def _mm(low: str, high: str, *, zero_too: bool = False) -> LengthRange:
    return LengthRange(Length.of(low, "mm"), Length.of(high, "mm"), zero_too)


DIAMETER = _mm("10", "150")
PLUG_OR_DIAMETER = _mm("10", "150", zero_too=True)
HEAD_DIAMETER = _mm("10", "500")
HEIGHT = _mm("1", "60")
GUIDE = _mm("3", "25")
REACH = _mm("1", "300")
FIT = _mm("0", "1")
OVERCUT = _mm("-0.5", "0.5")
ALLOWANCE = _mm("0", "5")
PROTRUSION = _mm("-10", "10")
RESOLUTION = _mm("0.0001", "1")

TEMPERATURE = NumberRange(-273.15, 1200, "°C")
CURVE_TEMPERATURE = NumberRange(4, 300, "K")
ALPHA = NumberRange(0, 100e-6, "per K")
YOUNG = NumberRange(1, 1000, "GPa")
POISSON = NumberRange(0, 0.5, "", high_included=False)
FRICTION = NumberRange(0, 1, "")
SURFACE_SPEED = NumberRange(0, 10_000, "", low_included=False)
HARDNESS = NumberRange(20, 450, "HB")
ANGLE = NumberRange(0, 90, "°", low_included=False, high_included=False)

LENGTH_RANGES: dict[str, LengthRange] = {
    "ring_od": DIAMETER,
    "ring_id": DIAMETER,
    "label_od": DIAMETER,
    "bore": DIAMETER,
    "target_bore": DIAMETER,
    "old_bore": DIAMETER,
    "old_bore_max": DIAMETER,
    "set": DIAMETER,
    "measured": DIAMETER,
    "diameter": DIAMETER,
    "outer": DIAMETER,
    "inner": DIAMETER,
    "valve_head": DIAMETER,
    "head_od": HEAD_DIAMETER,
    "ring_height": HEIGHT,
    "height": HEIGHT,
    "depth": HEIGHT,
    "guide_bore": GUIDE,
    "pilot": GUIDE,
    "pilot_shank": GUIDE,
    "guide_length": REACH,
    "overhang": REACH,
    "interference": FIT,
    "min": FIT,
    "aim": FIT,
    "max": FIT,
    "clearance_wanted": FIT,
    "overcut": OVERCUT,
    "uncertainty": ALLOWANCE,
    "ring_uncertainty": ALLOWANCE,
    "bore_uncertainty": ALLOWANCE,
    "repeatability": ALLOWANCE,
    "stock": ALLOWANCE,
    "deck_stock": ALLOWANCE,
    "sink": ALLOWANCE,
    "run_out": ALLOWANCE,
    "old_run_out": ALLOWANCE,
    "protrusion": PROTRUSION,
    "resolution": RESOLUTION,
}

NUMBER_RANGES: dict[str, NumberRange] = {
    "ring_temperature_c": TEMPERATURE,
    "gauge_temperature_c": TEMPERATURE,
    "bore_temperature_c": TEMPERATURE,
    "head_temperature_c": TEMPERATURE,
    "temperature_c": TEMPERATURE,
    "ring_c": TEMPERATURE,
    "head_c": TEMPERATURE,
    "temperature_k": CURVE_TEMPERATURE,
    "ring_alpha_per_k": ALPHA,
    "head_alpha_per_k": ALPHA,
    "alpha_per_k": ALPHA,
    "e_gpa": YOUNG,
    "nu": POISSON,
    "friction": FRICTION,
    "surface_speed": SURFACE_SPEED,
    "seat_angle_deg": ANGLE,
    "cutter_angle_deg": ANGLE,
}
