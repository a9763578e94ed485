"""What a gauge should read today in a bore that is right at 20 °C."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from app.calc.materials import (
    GAUGE_ALPHA_PER_K,
    GAUGE_ALPHA_SOURCE,
    REFERENCE_C,
    Expansion,
    HeadMaterial,
    head_expansion,
)
from app.calc.shown import shown_nm
from app.calc.sources import REFERENCE_TEMPERATURE
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, decimal_text, exact, trimmed

CALCULATION = Calculation("gauge-today", 1)


@dataclass(frozen=True, kw_only=True)
class GaugeToday(Result):
    """What a gauge shows today in a bore that is right at 20 °C."""

    reading: Length
    shift: Length


def reading_at(
    *,
    size_nm: Fraction | int,
    alpha_per_k: Fraction | float,
    temperature_c: Fraction | float,
    gauge_temperature_c: Fraction | float,
) -> Fraction:
    """What a gauge shows on a part whose size at 20 °C is known.

    D = D₂₀·(1 + α·(T − 20)) / (1 + α_g·(T_g − 20))

    Parameters
    ----------
    size_nm : Fraction or int
        D₂₀, at 20 °C [nm]
    alpha_per_k : Fraction or float
        α of the part, 0 to 100e-6 [1/K]
    temperature_c : Fraction or float
        T of the part [°C]
    gauge_temperature_c : Fraction or float
        T_g of the gauge's scale [°C]

    Returns
    -------
    Fraction
        exact, in nanometres, not rounded

    >>> shown = reading_at(size_nm=Length.of("1.6243").nm, alpha_per_k=21.5e-6,
    ...                    temperature_c=40, gauge_temperature_c=20)
    >>> Length.nearest(shown).inches(4)
    '1.6250'
    """
    return (
        size_nm
        * _growth(exact(alpha_per_k), temperature_c)
        / _growth(GAUGE_ALPHA_PER_K, gauge_temperature_c)
    )


def gauge_today(
    *,
    target_bore: Length,
    head_material: HeadMaterial,
    head_temperature_c: float,
    gauge_temperature_c: float,
    alloy_expansion: Expansion | None = None,
    unit: str = "in",
) -> GaugeToday:
    """What the bore gauge should read today in a bore that is at its target at 20 °C.

    D = B·(1 + α·(T − 20)) / (1 + α_g·(T_g − 20))

    Parameters
    ----------
    target_bore : Length
        B, at 20 °C [nm]
    head_material : HeadMaterial
        what the casting is made of, for α [-]
    head_temperature_c : float
        T of the casting at the bore [°C]
    gauge_temperature_c : float
        T_g of the gauge and of the master that it was zeroed on [°C]
    alloy_expansion : Expansion or None
        of this very alloy with its source, instead of the head material's [-]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    GaugeToday
        the reading, nearest nanometre, ties to even, and how far it lies from the target

    >>> today = gauge_today(target_bore=Length.of("1.6210"), head_temperature_c=28,
    ...                     head_material=HeadMaterial.ALUMINIUM, gauge_temperature_c=24)
    >>> today.reading.inches(4), today.shift.inches(4)
    ('1.6212', '.0002')
    """
    found = part_today(
        size=target_bore,
        expansion=alloy_expansion or head_expansion(material=head_material),
        part="head",
        material=head_material.words,
        part_temperature_c=head_temperature_c,
        gauge_temperature_c=gauge_temperature_c,
        unit=unit,
    )
    return replace(
        found,
        inputs={
            "target_bore": target_bore,
            "head_material": head_material,
            "head_temperature_c": head_temperature_c,
            "gauge_temperature_c": gauge_temperature_c,
            "alloy_expansion": alloy_expansion,
        },
    )


def part_today(
    *,
    size: Length,
    expansion: Expansion,
    part: str,
    material: str,
    part_temperature_c: float,
    gauge_temperature_c: float,
    unit: str = "in",
) -> GaugeToday:
    """What a gauge should read today on any part whose size at 20 °C is known.

    D = B·(1 + α·(T − 20)) / (1 + α_g·(T_g − 20))

    Parameters
    ----------
    size : Length
        B, at 20 °C [nm]
    expansion : Expansion
        α of what the part is made of, with its source [-]
    part : str
        ``head`` or ``ring``, for the working [-]
    material : str
        what the part is made of, for the working [-]
    part_temperature_c : float
        T of the part [°C]
    gauge_temperature_c : float
        T_g of the gauge and of the master that it was zeroed on [°C]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    GaugeToday
        the reading, nearest nanometre, ties to even, and how far it lies from the size

    >>> from app.calc.materials import RING_MATERIALS
    >>> bronze = RING_MATERIALS["bronze"]
    >>> today = part_today(size=Length.of("1.6262"), expansion=bronze.expansion, part="ring",
    ...                    material=bronze.words, part_temperature_c=30, gauge_temperature_c=20)
    >>> today.reading.inches(5), today.shift.inches(5)
    ('1.62649', '.00029')
    """
    reading = Length.nearest(
        reading_at(
            size_nm=size.nm,
            alpha_per_k=expansion.alpha_per_k,
            temperature_c=part_temperature_c,
            gauge_temperature_c=gauge_temperature_c,
        )
    )
    return GaugeToday(
        calculation=CALCULATION,
        inputs={
            "size": size,
            "alpha_per_k": expansion.alpha_per_k,
            "part_temperature_c": part_temperature_c,
            "gauge_temperature_c": gauge_temperature_c,
        },
        reading=reading,
        shift=reading - size,
        working=(
            Step(
                "B", "wanted at 20 °C", shown_nm(size.nm, unit), unit, REFERENCE_TEMPERATURE.cited
            ),
            Step("T", part, shown_number(part_temperature_c), "°C", "as read"),
            Step("α", material, shown_ppm(expansion.alpha_per_k), "1e-6/K", expansion.source.cited),
            Step("T_g", "gauge", shown_number(gauge_temperature_c), "°C", "as read"),
            Step(
                "α_g",
                "gauge's scale",
                shown_ppm(GAUGE_ALPHA_PER_K),
                "1e-6/K",
                GAUGE_ALPHA_SOURCE.cited,
            ),
            Step(
                "D",
                "the gauge should read today",
                shown_nm(reading.nm, unit),
                unit,
                "B·(1 + α(T − 20))/(1 + α_g(T_g − 20))",
                is_total=True,
            ),
        ),
    )


def shown_number(number: float | Fraction) -> str:
    """A temperature or another plain number, as short as it is exact to six decimals.

    Parameters
    ----------
    number : float or Fraction
        any finite number [-]

    >>> shown_number(20.0), shown_number(-78.5)
    ('20', '-78.5')
    """
    return trimmed(decimal_text(exact(number), 6))


def shown_ppm(alpha_per_k: float | Fraction) -> str:
    """An expansion in millionths per kelvin, as tables print it.

    Parameters
    ----------
    alpha_per_k : float or Fraction
        the expansion [1/K]

    >>> shown_ppm(21.5e-6)
    '21.5'
    """
    return trimmed(decimal_text(exact(alpha_per_k) * 1_000_000, 4))


def _growth(alpha_per_k: Fraction, temperature_c: Fraction | float) -> Fraction:
    return 1 + alpha_per_k * (exact(temperature_c) - REFERENCE_C)
