"""How much a ring shrinks in the cold: measured curves, from 4 K to room temperature.

A room-temperature coefficient overstates the shrink to liquid nitrogen by about a third, since
metals stop shrinking as they near absolute zero; hence curves.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from app.calc.errors import CalculationError
from app.calc.materials import RING_MATERIALS
from app.calc.quantities import NumberRange
from app.calc.sources import CRYOGENIC_FITS, CURVE_SLOPE, EXPANSION_TABLE, GIVEN, Source
from app.calc.trace import Calculation, Result, Step
from app.calc.units import decimal_text, exact, trimmed

CALCULATION = Calculation("expansion", 1)
ZERO_C_IN_K = Fraction("273.15")
LOWEST_K = 4


class Curve(Enum):
    """The metals with a measured curve."""

    ALUMINIUM_6061 = "6061"
    STAINLESS_304 = "304"
    BERYLLIUM_COPPER = "be_cu"
    NICKEL_STEEL_9 = "9_ni_steel"


@dataclass(frozen=True, slots=True)
class CurveFit:
    """y = a + bT + cT² + dT³ + eT⁴ from `flat_below_k` up, a constant under it.

    `room_alpha_per_k` is for scaling the curve to a kindred alloy.
    """

    words: str
    coefficients: tuple[Fraction, ...]
    flat_below_k: int
    flat_1e5: Fraction
    highest_k: int
    error_percent: Fraction
    room_alpha_per_k: Fraction
    room_alpha_source: Source
    source: Source = CRYOGENIC_FITS

    @property
    def range_k(self) -> NumberRange:
        """Where the curve was fitted."""
        return NumberRange(LOWEST_K, self.highest_k, f"K for {self.words}")


@dataclass(frozen=True, kw_only=True)
class CurveChange(Result):
    """1e5·ΔL/L from 293 K: exact, and as a plain number."""

    exact_1e5: Fraction
    change_1e5: float


def _fit(
    words: str,
    coefficients: tuple[str, ...],
    flat: tuple[int, str],
    highest_k: int,
    error_percent: str,
    room: tuple[int, Source],
) -> CurveFit:
    return CurveFit(
        words,
        tuple(Fraction(one) for one in coefficients),
        flat[0],
        Fraction(flat[1]),
        highest_k,
        Fraction(error_percent),
        Fraction(room[0], 10_000_000),
        room[1],
    )


CURVES: dict[Curve, CurveFit] = {
    Curve.ALUMINIUM_6061: _fit(
        "aluminium 6061-T6",
        ("-4.1277E2", "-3.0389E-1", "8.7696E-3", "-9.9821E-6", "0"),
        (18, "-415.45"),
        300,
        "4",
        (236, EXPANSION_TABLE),
    ),
    Curve.STAINLESS_304: _fit(
        "stainless steel 304",
        ("-2.9554E2", "-3.9811E-1", "9.2683E-3", "-2.0261E-5", "1.7127E-8"),
        (23, "-300.04"),
        300,
        "5",
        (172, EXPANSION_TABLE),
    ),
    Curve.BERYLLIUM_COPPER: _fit(
        "beryllium copper",
        ("-3.1150E2", "-4.4498E-1", "1.0133E-2", "-2.4718E-5", "2.6277E-8"),
        (24, "-316.68"),
        300,
        "1.5",
        (167, EXPANSION_TABLE),
    ),
    # Fitted to 265 K only: at 20 °C it has no slope of its own, hence the slope at its end.
    Curve.NICKEL_STEEL_9: _fit(
        "9 % nickel steel",
        ("-2.104E2", "-5.699E-2", "5.072E-3", "-1.381E-5", "1.897E-8"),
        (6, "-210.56"),
        265,
        "1.5",
        (113, CURVE_SLOPE),
    ),
}

# Alloys without a curve of their own shrink like the nearest one here, scaled.
NEAREST_CURVES: dict[str, Curve] = {
    **dict.fromkeys(
        ("grey_iron", "ductile_iron", "chromium_steel", "tool_steel", "hot_work_steel"),
        Curve.NICKEL_STEEL_9,
    ),
    **dict.fromkeys(("sintered_copper", "sintered", "unknown"), Curve.NICKEL_STEEL_9),
    **dict.fromkeys(("stainless", "nickel_iron", "cobalt"), Curve.STAINLESS_304),
    **dict.fromkeys(("bronze", "beryllium_copper"), Curve.BERYLLIUM_COPPER),
}
OWN_CURVES = {"stainless": Curve.STAINLESS_304, "beryllium_copper": Curve.BERYLLIUM_COPPER}


@dataclass(frozen=True, slots=True)
class ScaledCurve:
    """The curve that stands for a ring's material, and by how much it is stretched."""

    curve: Curve
    scale: Fraction
    words: str


def kelvin(*, temperature_c: float | int | Fraction) -> Fraction:
    """A temperature on the scale that the curves are in.

    T/K = t/°C + 273.15

    Parameters
    ----------
    temperature_c : float, int or Fraction
        t, any finite temperature [°C]

    >>> float(kelvin(temperature_c=-78.5))
    194.65
    """
    return exact(temperature_c) + ZERO_C_IN_K


def expansion(
    *,
    curve: Curve,
    temperature_k: float | int | Fraction,
    temperature_field: str = "temperature_k",
) -> CurveChange:
    """How far a length has changed from 293 K, by a measured curve.

    y = 1e5·(L − L₂₉₃)/L₂₉₃ = a + bT + cT² + dT³ + eT⁴; a constant below the curve's own T_low

    Parameters
    ----------
    curve : Curve
        the metal [-]
    temperature_k : float, int or Fraction
        T, 4 to 300 K; the 9 % nickel steel's to 265 K [K]
    temperature_field : str
        the field to name when T is outside the curve [-]

    Returns
    -------
    CurveChange
        good to the curve's own error, 1.5 to 5 % of y

    Raises
    ------
    CalculationError
        with `temperature_field`, outside the curve.

    >>> round(expansion(curve=Curve.STAINLESS_304, temperature_k=77).change_1e5, 3)
    -279.89
    >>> expansion(curve=Curve.STAINLESS_304, temperature_k=10).change_1e5
    -300.04
    """
    fit = CURVES[curve]
    t = exact(temperature_k)
    if why := fit.range_k.refusal(t):
        raise CalculationError(temperature_field, why)
    change = (
        fit.flat_1e5
        if t < fit.flat_below_k
        else sum((one * t**power for power, one in enumerate(fit.coefficients)), Fraction(0))
    )
    return CurveChange(
        calculation=CALCULATION,
        inputs={"curve": curve, "temperature_k": temperature_k},
        working=(
            Step("T", "temperature", trimmed(decimal_text(t, 2)), "K", GIVEN),
            Step(
                "y",
                f"{fit.words}, change from 293 K, good to {trimmed(str(float(fit.error_percent)))} "
                "% of it",
                decimal_text(change, 1),
                "1e-5",
                fit.source.cited,
                is_total=True,
            ),
        ),
        exact_1e5=change,
        change_1e5=float(change),
    )


def ring_curve(
    *, ring_material: str, alpha_per_k: Fraction | float | None = None
) -> ScaledCurve | None:
    """The curve that a ring is taken to shrink by: its own, or the nearest kind's, scaled.

    y = y_kin · α/α_kin, with both room-temperature coefficients

    Parameters
    ----------
    ring_material : str
        key of a family of `materials.RING_MATERIALS` [-]
    alpha_per_k : Fraction, float or None
        the maker's figure; None for the family's own where it has one [1/K]

    Returns
    -------
    ScaledCurve or None
        None where no coefficient is known: there the maker's figure is asked for

    Raises
    ------
    CalculationError
        field ``ring_material``, for a key that is not known.

    >>> found = ring_curve(ring_material="hot_work_steel")
    >>> found.curve.value, round(float(found.scale), 3), found.words
    ('9_ni_steel', 0.92, '9 % nickel steel, scaled by 10.4/11.3')
    >>> ring_curve(ring_material="sintered") is None
    True
    """
    if ring_material not in NEAREST_CURVES:
        raise CalculationError("ring_material", "is not a family known here")
    own = OWN_CURVES.get(ring_material)
    if own is not None and alpha_per_k is None:
        return ScaledCurve(own, Fraction(1), CURVES[own].words)
    family = RING_MATERIALS[ring_material].expansion
    if alpha_per_k is None and family is None:
        return None
    alpha = family.alpha_per_k if alpha_per_k is None and family else exact(alpha_per_k or 0)
    curve = NEAREST_CURVES[ring_material]
    room = CURVES[curve].room_alpha_per_k
    ratio = "/".join(trimmed(decimal_text(one * 1_000_000, 3)) for one in (alpha, room))
    return ScaledCurve(curve, alpha / room, f"{CURVES[curve].words}, scaled by {ratio}")
