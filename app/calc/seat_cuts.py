"""From the land that is wanted to the cuts that give it: seat, top and throat."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians

from app.calc.errors import CalculationError, ImpossibleError, OrderError
from app.calc.gauge import shown_number
from app.calc.seat import check_angle, check_land, moved_by_nm
from app.calc.shown import shown_nm
from app.calc.sources import GEOMETRY, GIVEN
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, exact

CALCULATION = Calculation("seat-cuts", 1)


@dataclass(frozen=True, kw_only=True)
class SeatCuts(Result):
    """How deep each cutter goes, axially, beyond its first touch; 0 where it is not needed.

    `seat_sink` comes first: it also sinks the valve by as much.
    """

    seat_sink: Length
    top_sink: Length
    throat_sink: Length
    outer_wanted: Length
    inner_wanted: Length
    outer_after_seat: Length
    inner_after_seat: Length


def cuts_for_land(
    *,
    outer: Length,
    inner: Length,
    seat_angle_deg: float,
    outer_wanted: Length,
    width_wanted: Length,
    top_angle_deg: float,
    throat_angle_deg: float,
    unit: str = "in",
) -> SeatCuts:
    """The cuts that turn one land into another, place and sloping width given.

    D_i,wanted = D_o,wanted − 2·w·cos a; a land that must grow is first cut deeper at its own angle
    by z, which moves its outer edge out by 2·z/(tan a − tan t) and its inner edge in by
    2·z/(tan c − tan a); then top and throat cuts trim it

    Parameters
    ----------
    outer : Length
        D_o, of the land as it is [nm]
    inner : Length
        D_i, of the land as it is [nm]
    seat_angle_deg : float
        a, from the head's face [°]
    outer_wanted : Length
        the wanted land's outer diameter: its place on the valve [nm]
    width_wanted : Length
        w, sloping, above 0 [nm]
    top_angle_deg : float
        t, flatter than the seat; the metal outside the land lies at it [°]
    throat_angle_deg : float
        c, steeper than the seat; the metal inside the land lies at it [°]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``top_angle_deg`` not flatter, ``throat_angle_deg`` not steeper than the seat,
        ``width_wanted`` not above 0 or wider than the wanted diameter allows.

    >>> cuts = cuts_for_land(
    ...     outer=Length.of("34.8 mm"), inner=Length.of("32.4 mm"), seat_angle_deg=45,
    ...     outer_wanted=Length.of("34.5 mm"), width_wanted=Length.of("1.2 mm"), top_angle_deg=30,
    ...     throat_angle_deg=60)
    >>> cuts.seat_sink.mm(3), cuts.top_sink.mm(3), cuts.throat_sink.mm(3)
    ('0.000', '0.063', '0.147')
    """
    check_land(outer, inner, seat_angle_deg)
    check_angle("top_angle_deg", top_angle_deg)
    check_angle("throat_angle_deg", throat_angle_deg)
    if top_angle_deg >= seat_angle_deg:
        raise OrderError("top_angle_deg", "must be flatter than the seat")
    if throat_angle_deg <= seat_angle_deg:
        raise OrderError("throat_angle_deg", "must be steeper than the seat")
    if width_wanted.nm <= 0:
        raise CalculationError("width_wanted", "must be above 0")
    # on diameter, for each nanometre of sinking
    top_moves = moved_by_nm(
        sink_nm=1, seat_angle_deg=seat_angle_deg, cutter_angle_deg=top_angle_deg
    )
    throat_moves = moved_by_nm(
        sink_nm=1, seat_angle_deg=seat_angle_deg, cutter_angle_deg=throat_angle_deg
    )
    inner_nm = outer_wanted.nm - 2 * width_wanted.nm * cos(radians(seat_angle_deg))
    if inner_nm <= 0:
        raise ImpossibleError("width_wanted", "is wider than this diameter allows")
    seat_sink = max(
        0.0, (outer_wanted.nm - outer.nm) / top_moves, (inner.nm - inner_nm) / throat_moves
    )
    outer_then = outer.nm + seat_sink * top_moves
    inner_then = inner.nm - seat_sink * throat_moves
    top_sink = max(0.0, (outer_then - outer_wanted.nm) / top_moves)
    throat_sink = max(0.0, (inner_nm - inner_then) / throat_moves)
    sinks = [Length.nearest(exact(one)) for one in (seat_sink, top_sink, throat_sink)]
    inner_wanted = Length.nearest(exact(inner_nm))
    return SeatCuts(
        calculation=CALCULATION,
        inputs={
            "outer": outer,
            "inner": inner,
            "seat_angle_deg": seat_angle_deg,
            "outer_wanted": outer_wanted,
            "width_wanted": width_wanted,
            "top_angle_deg": top_angle_deg,
            "throat_angle_deg": throat_angle_deg,
        },
        working=(
            Step("D_o", "land's outer diameter now", shown_nm(outer.nm, unit), unit, GIVEN),
            Step("D_i", "land's inner diameter now", shown_nm(inner.nm, unit), unit, GIVEN),
            Step("D_o′", "outer diameter wanted", shown_nm(outer_wanted.nm, unit), unit, GIVEN),
            Step("w′", "sloping width wanted", shown_nm(width_wanted.nm, unit), unit, GIVEN),
            Step(
                "D_i′",
                "inner diameter that gives it, D_o′ − 2·w′·cos a",
                shown_nm(inner_wanted.nm, unit),
                unit,
                GEOMETRY,
            ),
            *(
                Step("z", f"{words}, {shown_number(angle)}°, sunk by", depth, unit, GEOMETRY)
                for words, angle, depth in (
                    ("first the seat itself", seat_angle_deg, shown_nm(sinks[0].nm, unit)),
                    ("top cut", top_angle_deg, shown_nm(sinks[1].nm, unit)),
                    ("throat cut", throat_angle_deg, shown_nm(sinks[2].nm, unit)),
                )
            ),
        ),
        seat_sink=sinks[0],
        top_sink=sinks[1],
        throat_sink=sinks[2],
        outer_wanted=outer_wanted,
        inner_wanted=inner_wanted,
        outer_after_seat=Length.nearest(exact(outer_then)),
        inner_after_seat=Length.nearest(exact(inner_then)),
    )
