"""How far new cuts let a valve down, also one whose face has another angle than the seat."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from app.calc.errors import ImpossibleError, OrderError
from app.calc.gauge import shown_number
from app.calc.seat import check_angle, check_land, tangent
from app.calc.shown import shown_nm, shown_sum
from app.calc.sources import GEOMETRY, GIVEN
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, exact

CALCULATION = Calculation("valve-sink", 1)


@dataclass(frozen=True, kw_only=True)
class ValveSink(Result):
    """How much deeper the valve lies; the diameters on which it rests before and after."""

    sink: Length
    rests_on: Length
    rests_on_after: Length


def valve_sink(
    *,
    outer: Length,
    inner: Length,
    outer_after: Length,
    inner_after: Length,
    seat_angle_deg: float,
    seat_sink: Length,
    face_outer: Length,
    face_angle_deg: float,
    face_inner: Length | None = None,
    unit: str = "in",
) -> ValveSink:
    """How far a valve sinks when its land is cut to another one.

    A face flatter than the seat rests on the outermost diameter R that land and face share, a
    steeper one on the innermost; sink = z + (R − R′)/2·(tan a − tan f). Valid while the face is
    steeper than the metal outside the land and flatter than the metal inside it.

    Parameters
    ----------
    outer : Length
        of the land before [nm]
    inner : Length
        of the land before [nm]
    outer_after : Length
        of the land after the cuts [nm]
    inner_after : Length
        of the land after the cuts [nm]
    seat_angle_deg : float
        a, from the head's face [°]
    seat_sink : Length
        z, axial, by which the seat itself was cut deeper [nm]
    face_outer : Length
        of the valve's face at the margin [nm]
    face_angle_deg : float
        f, of the valve's face, from the valve head's plane [°]
    face_inner : Length or None
        of the valve's face toward the stem; None: it reaches past the land [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``inner`` or ``inner_after`` when not below its outer, ``face_outer`` when land and
        face do not meet, before or after.

    >>> found = valve_sink(
    ...     outer=Length.of("1.500"), inner=Length.of("1.360"), outer_after=Length.of("1.480"),
    ...     inner_after=Length.of("1.381"), seat_angle_deg=45, seat_sink=Length(0),
    ...     face_outer=Length.of("1.600"), face_angle_deg=44)
    >>> found.sink.inches(5)
    '.00034'
    """
    check_land(outer, inner, seat_angle_deg)
    if inner_after >= outer_after:
        raise OrderError("inner_after", "must be below the outer diameter")
    check_angle("face_angle_deg", face_angle_deg)
    rests_on, rests_after = (
        _rests_on(*land, face_outer, face_inner, seat_angle_deg, face_angle_deg)
        for land in ((outer, inner), (outer_after, inner_after))
    )
    apart = exact(tangent(angle_deg=seat_angle_deg)) - exact(tangent(angle_deg=face_angle_deg))
    moved = Fraction(rests_on.nm - rests_after.nm, 2) * apart
    shown = shown_sum(parts=[(1, seat_sink.nm), (1, moved)], unit=unit)
    return ValveSink(
        calculation=CALCULATION,
        inputs={
            "outer": outer,
            "inner": inner,
            "outer_after": outer_after,
            "inner_after": inner_after,
            "seat_angle_deg": seat_angle_deg,
            "seat_sink": seat_sink,
            "face_outer": face_outer,
            "face_angle_deg": face_angle_deg,
            "face_inner": face_inner,
        },
        working=(
            Step("R", "valve rests on diameter, now", shown_nm(rests_on.nm, unit), unit, GEOMETRY),
            Step("R′", "and after", shown_nm(rests_after.nm, unit), unit, GEOMETRY),
            Step("z", "seat itself cut deeper by", shown.parts[0], unit, GIVEN),
            Step(
                "",
                f"+ (R − R′)/2·(tan a − tan f), seat {shown_number(seat_angle_deg)}°, face "
                f"{shown_number(face_angle_deg)}°",
                shown.parts[1],
                unit,
                GEOMETRY,
            ),
            Step("", "valve sinks by", shown.total, unit, GEOMETRY, is_total=True),
        ),
        sink=Length.nearest(seat_sink.nm + moved),
        rests_on=rests_on,
        rests_on_after=rests_after,
    )


def _rests_on(
    outer: Length,
    inner: Length,
    face_outer: Length,
    face_inner: Length | None,
    seat_angle_deg: float,
    face_angle_deg: float,
) -> Length:
    high = min(outer, face_outer)
    low = inner if face_inner is None else max(inner, face_inner)
    if low >= high:
        raise ImpossibleError("face_outer", "the valve's face and the land do not meet")
    return low if face_angle_deg > seat_angle_deg else high
