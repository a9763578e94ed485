"""What a press fit does to ring and head: pressure, stresses, closing of the ring, force.

Two thick rings after Lamé, plane stress. A real counterbore has a floor and metal below it, which
the formula does not know: its figures explain, they never set a press and never pass a bore.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, pi, sqrt

from app.calc.errors import CalculationError, OrderError
from app.calc.shown import shown_nm
from app.calc.sources import (
    DISTORTION_ENERGY,
    FINITE_ELEMENTS,
    GIVEN,
    HEAD_WALL,
    LAME,
    PRESS_FRICTION,
)
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, decimal_text, exact, trimmed

CALCULATION = Calculation("press-fit", 1)
DRY_METAL = (0.10, 0.20)
HEAD_WALL_DEFAULT = Length.of(".250")
HEAD_WALL_SOURCE = HEAD_WALL
MPA_PER_GPA = 1000
CAVEAT = (
    "Worked as two flat rings. A counterbore has a floor and metal below it: by a finite-element "
    "model it carries 12 to 34 % more pressure, force and ring stress, and less hoop tension in "
    "the head. Two digits at best; neither a press setting nor a pass."
)
FORCE_CAVEAT = (
    "Friction of dry metal differs by a factor of two from one pressing to the next, so the force "
    "is a range."
)


@dataclass(frozen=True, slots=True)
class Elastic:
    """A material's modulus of elasticity in GPa and its Poisson's ratio."""

    e_gpa: float
    nu: float


@dataclass(frozen=True, slots=True)
class Parts:
    """A ring in the head's metal: diameters, `ring_id` 0 for a solid plug, and what they are of.

    `head_od` is the outside of the metal around the counterbore that takes part.
    """

    ring_id: Length
    ring_od: Length
    head_od: Length
    ring: Elastic
    head: Elastic


@dataclass(frozen=True, slots=True)
class Contact:
    """The unrounded physics between two rings; tension is positive."""

    pressure_mpa: float
    head_bore_hoop_mpa: float
    ring_od_hoop_mpa: float
    ring_bore_hoop_mpa: float
    ring_id_closes_nm: float


@dataclass(frozen=True, kw_only=True)
class IdClosing(Result):
    """How much smaller the ring's bore is once pressed, on diameter."""

    ring_id_closes_by: Length
    ring_id_pressed: Length


@dataclass(frozen=True, kw_only=True)
class PressFit(Result):
    """Pressure, stresses (tension +), closing on diameter, and the force at two frictions."""

    pressure_mpa: float
    head_bore_hoop_mpa: float
    ring_od_hoop_mpa: float
    ring_bore_hoop_mpa: float
    head_bore_von_mises_mpa: float
    ring_von_mises_mpa: float
    ring_id_closes_by: Length
    force_n: tuple[float, float]


def press_fit(
    *,
    interference: Length,
    parts: Parts,
    height: Length,
    friction_low: float,
    friction_high: float,
    unit: str = "in",
) -> PressFit:
    """A ring pressed into a round of another material, both of one height.

    p = δ/(d·[((D² + d²)/(D² − d²) + ν_h)/E_h + ((d² + a²)/(d² − a²) − ν_r)/E_r]);
    head σ = p·(D² + d²)/(D² − d²); ring's OD σ = −p·(d² + a²)/(d² − a²); ring's bore
    σ = −2·p·d²/(d² − a²), in a solid plug −p; closing = a·|σ|/E_r; F = μ·p·π·d·h

    Parameters
    ----------
    interference : Length
        δ, on diameter, 0 or more [nm]
    parts : Parts
        a < d < D and both materials: moduli above 0 GPa, ratios from 0 to below 0.5 [-]
    height : Length
        h, of the grip [nm]
    friction_low : float
        μ, least [-]
    friction_high : float
        μ, most [-]
    unit : str
        ``in`` or ``mm``, in which the working shows lengths [-]

    Returns
    -------
    PressFit
        in MPa and N, not rounded; plane stress understates what a counterbore in a block carries

    Raises
    ------
    CalculationError
        field ``ring_id`` or ``head_od`` when the parts do not lie in one another, ``friction``
        when low > high, ``interference``, ``height``, ``ring.e_gpa`` … when out of range.

    >>> steel = Elastic(e_gpa=206.84, nu=0.292)
    >>> plug = Parts(Length(0), Length.of("1"), Length.of("2"), ring=steel, head=steel)
    >>> found = press_fit(interference=Length.of(".002"), parts=plug, height=Length.of("1"),
    ...                   friction_low=0.1, friction_high=0.2)
    >>> round(found.pressure_mpa, 1), round(found.head_bore_hoop_mpa, 1)
    (155.1, 258.6)
    """
    if height.nm <= 0:
        raise CalculationError("height", "must be above 0")
    if not (friction_low >= 0 and isfinite(friction_high)):
        raise CalculationError("friction", "must be 0 or more")
    if not friction_low <= friction_high:
        raise OrderError("friction", "must be the lower one first")
    found = contact(interference=interference, parts=parts)
    grip_mm2 = pi * (parts.ring_od.nm * 1e-6) * (height.nm * 1e-6)
    force = (
        friction_low * found.pressure_mpa * grip_mm2,
        friction_high * found.pressure_mpa * grip_mm2,
    )
    closes = Length.nearest(exact(found.ring_id_closes_nm))
    in_head = _von_mises(found.head_bore_hoop_mpa, found.pressure_mpa)
    in_ring = max(
        abs(found.ring_bore_hoop_mpa), _von_mises(found.ring_od_hoop_mpa, found.pressure_mpa)
    )
    return PressFit(
        calculation=CALCULATION,
        inputs={
            "interference": interference,
            "parts": parts,
            "height": height,
            "friction": (friction_low, friction_high),
        },
        working=(
            *_steps_of_parts(interference, parts, unit),
            Step("p", "pressure between them", _two(found.pressure_mpa), "MPa", LAME.cited),
            Step(
                "σ_h",
                "hoop tension in the head at the bore",
                _two(found.head_bore_hoop_mpa),
                "MPa",
                LAME.cited,
            ),
            Step(
                "σ_vM",
                "von Mises stress in the head at the bore",
                _two(in_head),
                "MPa",
                DISTORTION_ENERGY.cited,
            ),
            Step(
                "σ_r",
                "hoop stress in the ring at its OD",
                _two(found.ring_od_hoop_mpa),
                "MPa",
                LAME.cited,
            ),
            Step(
                "σ_b",
                "hoop stress in the ring at its bore",
                _two(found.ring_bore_hoop_mpa),
                "MPa",
                LAME.cited,
            ),
            Step("Δa", "the ring's bore closes by", _closing(closes, unit), unit, LAME.cited),
            Step(
                "F",
                f"force at friction {friction_low:g} to {friction_high:g}",
                " to ".join(_two(one) for one in force),
                "N",
                PRESS_FRICTION.cited if (friction_low, friction_high) == DRY_METAL else GIVEN,
            ),
            Step("caveat", CAVEAT, "", "", FINITE_ELEMENTS.cited),
        ),
        pressure_mpa=found.pressure_mpa,
        head_bore_hoop_mpa=found.head_bore_hoop_mpa,
        ring_od_hoop_mpa=found.ring_od_hoop_mpa,
        ring_bore_hoop_mpa=found.ring_bore_hoop_mpa,
        head_bore_von_mises_mpa=in_head,
        ring_von_mises_mpa=in_ring,
        ring_id_closes_by=closes,
        force_n=force,
    )


def ring_id_closing(
    *,
    interference: Length,
    parts: Parts,
    unit: str = "in",
) -> IdClosing:
    """How far the ring's bore closes under the grip: seat sizes hold only after pressing.

    Δa = a·2·p·d²/((d² − a²)·E_r)

    Parameters
    ----------
    interference : Length
        δ, on diameter, as measured [nm]
    parts : Parts
        the ring before pressing, and the head's metal around it [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        as `press_fit`.

    >>> parts = Parts(ring_id=Length.of("1.375"), ring_od=Length.of("1.625"),
    ...               head_od=Length.of("2.125"), ring=Elastic(120, 0.26), head=Elastic(72.4, 0.33))
    >>> found = ring_id_closing(interference=Length.of(".007"), parts=parts)
    >>> found.ring_id_closes_by.inches(4)
    '.0033'
    """
    found = contact(interference=interference, parts=parts)
    closes = Length.nearest(exact(found.ring_id_closes_nm))
    return IdClosing(
        calculation=Calculation("ring-id-closing", 1),
        inputs={
            "interference": interference,
            "parts": parts,
        },
        working=(
            *_steps_of_parts(interference, parts, unit),
            Step(
                "Δa",
                "the ring's bore closes by about",
                _closing(closes, unit),
                unit,
                LAME.cited,
                is_total=True,
            ),
        ),
        ring_id_closes_by=closes,
        ring_id_pressed=parts.ring_id - closes,
    )


def contact(
    *,
    interference: Length,
    parts: Parts,
) -> Contact:
    """Pressure and stresses alone, without a working: for many positions at once.

    as `press_fit`

    Parameters
    ----------
    interference : Length
        δ, on diameter, 0 or more [nm]
    parts : Parts
        diameters and materials [-]

    Raises
    ------
    CalculationError
        as `press_fit`.

    >>> steel = Elastic(207, 0.3)
    >>> parts = Parts(Length.of("25 mm"), Length.of("50 mm"), Length.of("75 mm"), steel, steel)
    >>> round(contact(interference=Length.of("0.02 mm"), parts=parts).pressure_mpa, 2)
    19.41
    """
    _check(interference, parts)
    a2, b2, c2 = parts.ring_id.nm**2, parts.ring_od.nm**2, parts.head_od.nm**2
    of_head, of_ring = (c2 + b2) / (c2 - b2), (b2 + a2) / (b2 - a2)
    compliance = (of_head + parts.head.nu) / (parts.head.e_gpa * MPA_PER_GPA) + (
        of_ring - parts.ring.nu
    ) / (parts.ring.e_gpa * MPA_PER_GPA)
    pressure = interference.nm / parts.ring_od.nm / compliance
    at_bore = 2 * b2 / (b2 - a2) * pressure if parts.ring_id else pressure
    # 0.0 − x, since −x of nothing would be shown as −0
    return Contact(
        pressure_mpa=pressure,
        head_bore_hoop_mpa=pressure * of_head,
        ring_od_hoop_mpa=0.0 - pressure * of_ring,
        ring_bore_hoop_mpa=0.0 - at_bore,
        ring_id_closes_nm=parts.ring_id.nm * at_bore / (parts.ring.e_gpa * MPA_PER_GPA),
    )


def _check(
    interference: Length,
    parts: Parts,
) -> None:
    if interference.nm < 0:
        raise CalculationError("interference", "cannot be negative")
    if parts.ring_id.nm < 0:
        raise CalculationError("ring_id", "cannot be negative")
    if parts.ring_id >= parts.ring_od:
        raise OrderError("ring_id", "must be below the ring's OD")
    if parts.ring_od >= parts.head_od:
        raise OrderError("head_od", "must be above the ring's OD")
    for part, elastic in (("ring", parts.ring), ("head", parts.head)):
        if not (isfinite(elastic.e_gpa) and elastic.e_gpa > 0):
            raise CalculationError(f"{part}.e_gpa", "must be above 0")
        if not 0 <= elastic.nu < 0.5:
            raise CalculationError(f"{part}.nu", "must be from 0 to below 0.5")


def _von_mises(hoop_mpa: float, pressure_mpa: float) -> float:
    """At a surface under pressure: radial stress −p, no axial stress."""
    return sqrt(hoop_mpa**2 + hoop_mpa * pressure_mpa + pressure_mpa**2)


def _steps_of_parts(
    interference: Length,
    parts: Parts,
    unit: str,
) -> tuple[Step, ...]:
    return (
        Step("δ", "interference", shown_nm(interference.nm, unit), unit, GIVEN),
        Step(
            "a",
            "ring's bore" if parts.ring_id else "ring's bore: a solid plug",
            parts.ring_id.shown(unit),
            unit,
            GIVEN,
        ),
        Step("d", "ring's OD", parts.ring_od.shown(unit), unit, GIVEN),
        Step("D", "outside of the head's metal", parts.head_od.shown(unit), unit, GIVEN),
        Step("E_r", f"ring, ν {parts.ring.nu:g}", f"{parts.ring.e_gpa:g}", "GPa", GIVEN),
        Step("E_h", f"head, ν {parts.head.nu:g}", f"{parts.head.e_gpa:g}", "GPa", GIVEN),
    )


def _closing(closes: Length, unit: str) -> str:
    return shown_nm(closes.nm, unit, inch_places=4, mm_places=2)


def _two(figure: float) -> str:
    """Two digits: more would claim what plane stress cannot know."""
    return trimmed(decimal_text(exact(float(f"{figure:.1e}")), 4))
