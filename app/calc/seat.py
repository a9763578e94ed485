"""The land of a seat: its widths and height, and what a flatter or steeper cutter does to it.

Angles are from the head's face. A flatter cutter (the top cut) takes the land from outside, a
steeper one (the throat cut) from inside; each first touches the land's edge.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import cos, isfinite, radians, sin, tan

from app.calc.errors import CalculationError, ImpossibleError, MissingError, OrderError
from app.calc.gauge import shown_number
from app.calc.shown import shown_nm, shown_sum
from app.calc.sources import GEOMETRY, GIVEN
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, exact

CALCULATION = Calculation("seat", 1)


@dataclass(frozen=True, kw_only=True)
class Seat(Result):
    """A land as it is and, with a cutter, as it will be: sloping, projected and axial."""

    width: Length
    width_projected: Length
    axial_height: Length
    new_diameter: Length | None
    new_width: Length | None


def seat_land(
    *,
    outer: Length,
    inner: Length,
    seat_angle_deg: float,
    cutter_angle_deg: float | None = None,
    sink: Length | None = None,
    unit: str = "in",
) -> Seat:
    """Widths of a land and, after a cut, the diameter that moved.

    projected = (D_o − D_i)/2; sloping = projected/cos a; height = projected·tan a; a cutter at
    angle c sunk by z moves the outer (c < a) or the inner diameter (c > a) by 2·z/|tan a − tan c|

    Parameters
    ----------
    outer : Length
        D_o, the land's outer diameter [nm]
    inner : Length
        D_i, below the outer [nm]
    seat_angle_deg : float
        a, from the head's face, above 0 to below 90 [°]
    cutter_angle_deg : float or None
        c, another than the seat's; with `sink`, or neither [°]
    sink : Length or None
        z, axial, beyond the first touch of the land's edge [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Returns
    -------
    Seat
        each length rounded once; the new ones are None without a cutter

    Raises
    ------
    CalculationError
        field ``inner`` when not below the outer, ``cutter_angle_deg`` at the seat's own angle,
        ``sink`` when no land would be left, either of the two when the other is given alone.

    >>> land = seat_land(outer=Length.of("34.8 mm"), inner=Length.of("32.4 mm"), seat_angle_deg=45)
    >>> land.width.mm(4), land.width_projected.mm(4)
    ('1.6971', '1.2000')
    >>> cut = seat_land(outer=Length.of("34.8 mm"), inner=Length.of("32.4 mm"), seat_angle_deg=45,
    ...                 cutter_angle_deg=30, sink=Length.of("0.1 mm"))
    >>> cut.new_diameter.mm(4), cut.new_width.mm(4)
    ('34.3268', '1.3624')
    """
    check_land(outer, inner, seat_angle_deg)
    across = outer.nm - inner.nm
    projected = Fraction(across, 2)
    width = sloping_nm(across_nm=across, angle_deg=seat_angle_deg)
    height = exact(float(projected) * tangent(angle_deg=seat_angle_deg))
    shown = shown_sum(parts=[(1, outer.nm), (-1, inner.nm)], unit=unit)
    new_diameter, new_width, steps = _cut(
        outer, inner, seat_angle_deg, cutter_angle_deg, sink, unit
    )
    return Seat(
        calculation=CALCULATION,
        inputs={
            "outer": outer,
            "inner": inner,
            "seat_angle_deg": seat_angle_deg,
            "cutter_angle_deg": cutter_angle_deg,
            "sink": sink,
        },
        working=(
            Step("D_o", "land's outer diameter", shown.parts[0], unit, GIVEN),
            Step("D_i", "− land's inner diameter", shown.parts[1], unit, GIVEN),
            Step("", "difference", shown.total, unit, GEOMETRY, is_total=True),
            Step("a", "seat angle, from the head's face", shown_number(seat_angle_deg), "°", GIVEN),
            Step(
                "w_p", "projected: half the difference", shown_nm(projected, unit), unit, GEOMETRY
            ),
            Step("w", "sloping: projected/cos a", shown_nm(width, unit), unit, GEOMETRY),
            Step("h", "axial: projected·tan a", shown_nm(height, unit), unit, GEOMETRY),
            *steps,
        ),
        width=Length.nearest(width),
        width_projected=Length.nearest(projected),
        axial_height=Length.nearest(height),
        new_diameter=new_diameter,
        new_width=new_width,
    )


def tangent(*, angle_deg: float) -> float:
    """The tangent of an angle, exactly 1 at 45°, the angle of most seats.

    tan a

    Parameters
    ----------
    angle_deg : float
        a, above 0 to below 90 [°]

    >>> tangent(angle_deg=45), round(tangent(angle_deg=60), 5)
    (1.0, 1.73205)
    """
    return 1.0 if angle_deg == 45 else tan(radians(angle_deg))


def moved_by_nm(*, sink_nm: float, seat_angle_deg: float, cutter_angle_deg: float) -> float:
    """How far a cutter at another angle moves the land's edge, on diameter.

    2·z/|tan a − tan c| = 2·z·cos a·cos c/|sin(a − c)|

    Parameters
    ----------
    sink_nm : float
        z, axial [nm]
    seat_angle_deg : float
        a [°]
    cutter_angle_deg : float
        c, another than a [°]

    Raises
    ------
    CalculationError
        field ``cutter_angle_deg``, at the seat's own angle.

    >>> round(moved_by_nm(sink_nm=1e6, seat_angle_deg=45, cutter_angle_deg=30))
    4732051
    """
    apart = abs(sin(radians(seat_angle_deg - cutter_angle_deg)))
    if apart == 0:
        raise ImpossibleError("cutter_angle_deg", "is the seat's own angle; it would move no edge")
    return 2 * sink_nm * cos(radians(seat_angle_deg)) * cos(radians(cutter_angle_deg)) / apart


def sloping_nm(*, across_nm: int | Fraction, angle_deg: float) -> Fraction:
    """A width along the slope, from a difference of diameters.

    w = (D_o − D_i)/(2·cos a)

    Parameters
    ----------
    across_nm : int or Fraction
        D_o − D_i [nm]
    angle_deg : float
        a, from the head's face [°]

    >>> round(float(sloping_nm(across_nm=2_400_000, angle_deg=45)) * 1e-6, 8)
    1.69705627
    """
    return exact(float(across_nm) / (2 * cos(radians(angle_deg))))


def inner_of_width(*, outer: Length, width: Length, angle_deg: float) -> Length:
    """The inner diameter of a land, or of a valve's face, of a given sloping width.

    D_i = D_o − 2·w·cos a

    Parameters
    ----------
    outer : Length
        D_o [nm]
    width : Length
        w, sloping, above 0 [nm]
    angle_deg : float
        a, from the head's face, above 0 to below 90 [°]

    Raises
    ------
    CalculationError
        field ``width``, not above 0 or wider than the diameter allows.

    >>> inner_of_width(outer=Length.of("34.5 mm"), width=Length.of("1.2 mm"), angle_deg=45).mm(4)
    '32.8029'
    """
    check_angle("angle_deg", angle_deg)
    if width.nm <= 0:
        raise CalculationError("width", "must be above 0")
    inner = Length.nearest(outer.nm - exact(2 * width.nm * cos(radians(angle_deg))))
    if inner.nm <= 0:
        raise ImpossibleError("width", "is wider than this diameter allows")
    return inner


def check_land(outer: Length, inner: Length, seat_angle_deg: float) -> None:
    """Refuse what is no land.

    0 < D_i < D_o, 0 < a < 90

    Parameters
    ----------
    outer : Length
        D_o [nm]
    inner : Length
        D_i [nm]
    seat_angle_deg : float
        a [°]

    Raises
    ------
    CalculationError
        field ``inner`` or ``seat_angle_deg``.

    >>> check_land(Length.of("1.4"), Length.of("1.3"), 45) is None
    True
    """
    check_angle("seat_angle_deg", seat_angle_deg)
    if inner.nm <= 0:
        raise CalculationError("inner", "must be above 0")
    if inner >= outer:
        raise OrderError("inner", "must be below the outer diameter")


def check_angle(field: str, angle_deg: float) -> None:
    """Refuse what is no cone.

    0 < a < 90

    Parameters
    ----------
    field : str
        the name to refuse by [-]
    angle_deg : float
        a [°]

    Raises
    ------
    CalculationError
        with `field`.

    >>> check_angle("seat_angle_deg", 45) is None
    True
    """
    if not 0 < angle_deg < 90:
        raise CalculationError(field, "must be above 0 and below 90 degrees")


def _cut(
    outer: Length,
    inner: Length,
    seat_angle_deg: float,
    cutter_angle_deg: float | None,
    sink: Length | None,
    unit: str,
) -> tuple[Length | None, Length | None, tuple[Step, ...]]:
    if cutter_angle_deg is None and sink is None:
        return None, None, ()
    if cutter_angle_deg is None or sink is None:
        missing = "cutter_angle_deg" if cutter_angle_deg is None else "sink"
        raise MissingError(missing, "is needed beside the other")
    check_angle("cutter_angle_deg", cutter_angle_deg)
    if sink.nm < 0:
        raise CalculationError("sink", "cannot be negative")
    moved = moved_by_nm(
        sink_nm=sink.nm, seat_angle_deg=seat_angle_deg, cutter_angle_deg=cutter_angle_deg
    )
    across = outer.nm - inner.nm
    if not isfinite(moved) or moved >= across:
        raise ImpossibleError("sink", "would leave no land")
    is_flatter = cutter_angle_deg < seat_angle_deg
    edge, sign = (outer, -1) if is_flatter else (inner, 1)
    new_diameter = Length.nearest(edge.nm + sign * exact(moved))
    if new_diameter == (inner if is_flatter else outer):
        raise ImpossibleError("sink", "would leave no land")
    new_width = sloping_nm(across_nm=across - exact(moved), angle_deg=seat_angle_deg)
    shown = shown_sum(parts=[(1, edge.nm), (sign, exact(moved))], unit=unit)
    which, mark = ("outer", "−") if is_flatter else ("inner", "+")
    return (
        new_diameter,
        Length.nearest(new_width),
        (
            Step(
                "z",
                f"a {'flatter' if is_flatter else 'steeper'} cutter, "
                f"{shown_number(cutter_angle_deg)}°, sunk from first touch by",
                shown_nm(sink.nm, unit),
                unit,
                GIVEN,
            ),
            Step("D", f"{which} diameter", shown.parts[0], unit, GIVEN),
            Step("ΔD", f"{mark} moved by 2·z/|tan a − tan c|", shown.parts[1], unit, GEOMETRY),
            Step("D′", f"new {which} diameter", shown.total, unit, GEOMETRY, is_total=True),
            Step("w′", "sloping width left", shown_nm(new_width, unit), unit, GEOMETRY),
        ),
    )
