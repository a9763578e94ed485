"""Seat and valve together: contact, stem height, spring shim, chamber volume."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from math import pi

from app.calc.errors import CalculationError, ImpossibleError, OrderError
from app.calc.gauge import shown_number
from app.calc.seat import check_angle, check_land, sloping_nm
from app.calc.shown import shown_nm, shown_sum
from app.calc.sources import GEOMETRY, GIVEN, INCH, MEASURED
from app.calc.trace import Calculation, Result, Step
from app.calc.units import NM_PER_UNIT, Length

NOTHING = Length(0)
NM3_PER_MM3 = 10**18


class FirstTouch(Enum):
    """Which edge of the land the valve's face meets first."""

    WHOLE = "whole"
    OUTER_EDGE = "outer_edge"
    INNER_EDGE = "inner_edge"

    @property
    def words(self) -> str:
        """As printed: ``outer edge``."""
        return self.value.replace("_", " ")


@dataclass(frozen=True, kw_only=True)
class ValveContact(Result):
    """Where land and valve face cover each other; sloping widths.

    `clear_outside` is the face left toward the margin, `clear_inside` toward the stem: negative
    where the land overhangs the face. `place` is the middle of the contact across the face, from 0
    at its inner edge to 1 at the margin. Both need the face's inner diameter, else they are None.
    """

    contact_outer: Length
    contact_inner: Length
    width: Length
    clear_outside: Length
    clear_inside: Length | None
    place: float | None
    first_touch: FirstTouch


@dataclass(frozen=True, kw_only=True)
class StemHeight(Result):
    """How the stem stands after sinking, and what to take off its tip; negative: too short."""

    stands: Length
    tip_grind: Length


@dataclass(frozen=True, kw_only=True)
class SpringShim(Result):
    """The spring's installed height and the shim that brings it to the book; negative: none."""

    installed: Length
    shim: Length


@dataclass(frozen=True, kw_only=True)
class ChamberGrowth(Result):
    """Volume that a sunk valve adds, in two units."""

    volume_mm3: float
    volume_in3: float


def valve_contact(
    *,
    outer: Length,
    inner: Length,
    seat_angle_deg: float,
    face_outer: Length,
    face_angle_deg: float,
    face_inner: Length | None = None,
    unit: str = "in",
) -> ValveContact:
    """How a land lies on the valve's face.

    contact from max(D_i, F_i) to min(D_o, F_o); place = (middle − F_i)/(F_o − F_i), on diameters;
    a face flatter than the seat touches the land's outer edge first, a steeper one the inner

    Parameters
    ----------
    outer : Length
        D_o, of the land [nm]
    inner : Length
        D_i, of the land [nm]
    seat_angle_deg : float
        from the head's face [°]
    face_outer : Length
        F_o, of the valve's face at the margin [nm]
    face_angle_deg : float
        of the valve's face, from the valve head's plane [°]
    face_inner : Length or None
        F_i, of the valve's face toward the stem; None: it reaches past the land [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``face_inner`` not below the outer, ``face_outer`` when land and face do not meet.

    >>> found = valve_contact(outer=Length.of("34.8 mm"), inner=Length.of("32.4 mm"),
    ...                       seat_angle_deg=45, face_outer=Length.of("36 mm"),
    ...                       face_inner=Length.of("31.6 mm"), face_angle_deg=44.5)
    >>> found.width.mm(2), round(found.place, 2), found.first_touch.words
    ('1.70', 0.45, 'outer edge')
    """
    check_land(outer, inner, seat_angle_deg)
    check_angle("face_angle_deg", face_angle_deg)
    if face_inner is not None and face_inner >= face_outer:
        raise OrderError("face_inner", "must be below the face's outer diameter")
    contact_outer = min(outer, face_outer)
    contact_inner = inner if face_inner is None else max(inner, face_inner)
    if contact_inner >= contact_outer:
        raise ImpossibleError("face_outer", "the valve's face and the land do not meet")

    def along(across: Length) -> Length:
        return Length.nearest(sloping_nm(across_nm=across.nm, angle_deg=seat_angle_deg))

    if face_angle_deg == seat_angle_deg:
        touch = FirstTouch.WHOLE
    else:
        touch = FirstTouch.OUTER_EDGE if face_angle_deg < seat_angle_deg else FirstTouch.INNER_EDGE
    width = along(contact_outer - contact_inner)
    outside = along(face_outer - outer)
    inside = None if face_inner is None else along(inner - face_inner)
    place = None
    if face_inner is not None:
        middle = Fraction(contact_outer.nm + contact_inner.nm, 2)
        place = float((middle - face_inner.nm) / (face_outer.nm - face_inner.nm))
    return ValveContact(
        calculation=Calculation("valve-contact", 1),
        inputs={
            "outer": outer,
            "inner": inner,
            "seat_angle_deg": seat_angle_deg,
            "face_outer": face_outer,
            "face_inner": face_inner,
            "face_angle_deg": face_angle_deg,
        },
        working=(
            Step("", "contact's outer diameter", shown_nm(contact_outer.nm, unit), unit, GEOMETRY),
            Step("", "contact's inner diameter", shown_nm(contact_inner.nm, unit), unit, GEOMETRY),
            Step("w", "sloping width of the contact", shown_nm(width.nm, unit), unit, GEOMETRY),
            Step("", "face left toward the margin", shown_nm(outside.nm, unit), unit, GEOMETRY),
            *(
                [Step("", "face left toward the stem", shown_nm(inside.nm, unit), unit, GEOMETRY)]
                if inside is not None
                else []
            ),
            Step(
                "",
                f"seat {shown_number(seat_angle_deg)}°, face {shown_number(face_angle_deg)}°: "
                "first touch",
                touch.words,
                "",
                GEOMETRY,
            ),
            *(
                [
                    Step(
                        "",
                        "middle of the contact across the face, 0 inside to 1 at the margin",
                        f"{place:.2f}",
                        "",
                        GEOMETRY,
                    )
                ]
                if place is not None
                else []
            ),
        ),
        contact_outer=contact_outer,
        contact_inner=contact_inner,
        width=width,
        clear_outside=outside,
        clear_inside=inside,
        place=place,
        first_touch=touch,
    )


def stem_height(
    *, measured: Length, book: Length, sink: Length = NOTHING, unit: str = "in"
) -> StemHeight:
    """What to take off the stem's tip so that it stands at the book's height.

    stands = measured + sink; grind = stands − book

    Parameters
    ----------
    measured : Length
        stem height as measured, valve on its seat [nm]
    book : Length
        the height wanted: incoming, or the engine maker's [nm]
    sink : Length
        what cutting the seat will still sink the valve by [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    >>> found = stem_height(measured=Length.of("1.942"), book=Length.of("1.925"),
    ...                     sink=Length.of(".004"))
    >>> found.tip_grind.inches(3)
    '.021'
    """
    shown = shown_sum(
        parts=[(1, measured.nm), (1, sink.nm), (-1, book.nm)],
        unit=unit,
        inch_places=4,
        mm_places=3,
    )
    return StemHeight(
        calculation=Calculation("stem-height", 1),
        inputs={"measured": measured, "book": book, "sink": sink},
        working=(
            Step("s", "stem height", shown.parts[0], unit, MEASURED),
            Step("z", "+ the valve still sinks by", shown.parts[1], unit, GIVEN),
            Step("s_b", "− height wanted", shown.parts[2], unit, GIVEN),
            Step(
                "",
                "to take off the tip (negative: the stem stands too short)",
                shown.total,
                unit,
                "sum of the three",
                is_total=True,
            ),
        ),
        stands=measured + sink,
        tip_grind=measured + sink - book,
    )


def spring_shim(
    *, measured: Length, book: Length, sink: Length = NOTHING, unit: str = "in"
) -> SpringShim:
    """The shim under a spring that brings its installed height to the book's.

    installed = measured + sink; shim = installed − book

    Parameters
    ----------
    measured : Length
        installed height as measured [nm]
    book : Length
        the height wanted [nm]
    sink : Length
        what cutting the seat will still sink the valve by [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    >>> spring_shim(measured=Length.of("1.830"), book=Length.of("1.800")).shim.inches(3)
    '.030'
    """
    shown = shown_sum(
        parts=[(1, measured.nm), (1, sink.nm), (-1, book.nm)],
        unit=unit,
        inch_places=4,
        mm_places=3,
    )
    return SpringShim(
        calculation=Calculation("spring-shim", 1),
        inputs={"measured": measured, "book": book, "sink": sink},
        working=(
            Step("h", "installed height", shown.parts[0], unit, MEASURED),
            Step("z", "+ the valve still sinks by", shown.parts[1], unit, GIVEN),
            Step("h_b", "− height wanted", shown.parts[2], unit, GIVEN),
            Step(
                "",
                "shim (negative: the spring already stands short)",
                shown.total,
                unit,
                "sum of the three",
                is_total=True,
            ),
        ),
        installed=measured + sink,
        shim=measured + sink - book,
    )


def chamber_growth(*, valve_head: Length, sink: Length, unit: str = "in") -> ChamberGrowth:
    """The volume that a sunk valve adds to its chamber.

    ΔV = π/4·D²·z; 1 in³ = 25.4³ mm³

    Parameters
    ----------
    valve_head : Length
        D, of the valve head, above 0 [nm]
    sink : Length
        z, by which the valve lies deeper; negative: higher [nm]
    unit : str
        ``in`` or ``mm``, in which the working shows lengths [-]

    Raises
    ------
    CalculationError
        field ``valve_head``, not above 0.

    >>> found = chamber_growth(valve_head=Length.of("1.60"), sink=Length.of(".020"))
    >>> round(found.volume_mm3 / 1000, 2), round(found.volume_in3, 3)
    (0.66, 0.04)
    """
    if valve_head.nm <= 0:
        raise CalculationError("valve_head", "must be above 0")
    volume = pi / 4 * float(Fraction(valve_head.nm**2 * sink.nm, NM3_PER_MM3))
    cubic_inches = volume * NM3_PER_MM3 / NM_PER_UNIT["in"] ** 3
    return ChamberGrowth(
        calculation=Calculation("chamber-growth", 1),
        inputs={"valve_head": valve_head, "sink": sink},
        working=(
            Step("D", "valve head", valve_head.shown(unit), unit, GIVEN),
            Step("z", "valve lies deeper by", shown_nm(sink.nm, unit), unit, GIVEN),
            Step(
                "ΔV",
                "chamber grows by π/4·D²·z",
                f"{volume / 1000:.2f}",
                "cm³",
                GEOMETRY,
                is_total=True,
            ),
            Step("", "which is", f"{cubic_inches:.3f}", "in³", INCH.cited),
        ),
        volume_mm3=volume,
        volume_in3=cubic_inches,
    )
