"""What a size read at some temperature is at 20 °C."""

from __future__ import annotations

from fractions import Fraction

from app.calc.errors import CalculationError
from app.calc.materials import GAUGE_ALPHA_PER_K, REFERENCE_C
from app.calc.units import Length, exact


def size_at_reference(
    *,
    read: Length,
    temperature_c: float,
    gauge_temperature_c: float,
    alpha_per_k: Fraction | float,
    temperature_field: str = "temperature_c",
) -> Fraction:
    """The size at 20 °C of what was read warm or cold, not yet rounded.

    D₂₀ = D·(1 + α_g·(T_g − 20))/(1 + α·(T − 20)), α_g 11.5e-6 /K

    Parameters
    ----------
    read : Length
        D, as the gauge showed it [nm]
    temperature_c : float
        T, of the part [°C]
    gauge_temperature_c : float
        T_g, of the gauge [°C]
    alpha_per_k : Fraction or float
        α, the part's mean expansion [1/K]
    temperature_field : str
        the field to name when the part's temperature cannot be [-]

    Returns
    -------
    Fraction
        nanometres

    Raises
    ------
    CalculationError
        when the part would have shrunk to nothing.

    >>> warm = size_at_reference(read=Length.of("1.6222"), temperature_c=40,
    ...                          gauge_temperature_c=20, alpha_per_k=21.5e-6)
    >>> Length.nearest(warm).inches(5)
    '1.62150'
    """
    if temperature_c == gauge_temperature_c == REFERENCE_C:
        return Fraction(read.nm)  # most readings: no need to multiply by one
    part = 1 + exact(alpha_per_k) * (exact(temperature_c) - REFERENCE_C)
    if part <= 0:
        raise CalculationError(temperature_field, "is not a temperature that this part can have")
    gauge = 1 + GAUGE_ALPHA_PER_K * (exact(gauge_temperature_c) - REFERENCE_C)
    return read.nm * gauge / part
