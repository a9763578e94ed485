"""Valve tip and spring on a head that is put together: what may still come off, what is left."""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.errors import CalculationError
from app.calc.shown import shown_sum
from app.calc.sources import GIVEN, MEASURED
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length


@dataclass(frozen=True, kw_only=True)
class TipLeft(Result):
    """What may still be ground off a stem's tip; negative: more came off than may."""

    left: Length


@dataclass(frozen=True, kw_only=True)
class SpringOff(Result):
    """How a shimmed spring stands; `off` is over (+) or under (−) the height wanted."""

    stands: Length
    off: Length


def tip_left(
    *,
    most: Length,
    ground: Length,
    length: Length | None = None,
    least: Length | None = None,
    unit: str = "in",
) -> TipLeft:
    """What may still come off a tip: by what came off so far, and by the valve's own length.

    left = most − ground; with both lengths known at most length − least

    Parameters
    ----------
    most : Length
        what may come off in all, the shop's or the engine maker's figure [nm]
    ground : Length
        what came off so far, not below 0 [nm]
    length : Length or None
        of the whole valve now [nm]
    least : Length or None
        length that the engine maker leaves it at least [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``ground``, below 0.

    >>> tip_left(most=Length.of(".010"), ground=Length.of(".004"), length=Length.of("4.920"),
    ...          least=Length.of("4.917")).left.inches(3)
    '.003'
    >>> tip_left(most=Length.of(".010"), ground=Length.of(".004")).left.inches(3)
    '.006'
    """
    if ground.nm < 0:
        raise CalculationError("ground", "must not be below 0")
    shown = shown_sum(
        parts=[(1, most.nm), (-1, ground.nm)], unit=unit, inch_places=4, mm_places=3, limits=[0]
    )
    left, text = most - ground, "may still come off (negative: too much is off)"
    by_grinding = (
        Step("t_max", "may come off the tip in all", shown.parts[0], unit, GIVEN),
        Step("t", "− ground off", shown.parts[1], unit, MEASURED),
    )
    if length is None or least is None:
        working: tuple[Step, ...] = (
            *by_grinding,
            Step("", text, shown.total, unit, "difference", is_total=True),
        )
    else:
        by_length = shown_sum(
            parts=[(1, length.nm), (-1, least.nm)],
            unit=unit,
            inch_places=4,
            mm_places=3,
            limits=[0],
        )
        smaller = shown.total if left <= length - least else by_length.total
        left = min(left, length - least)
        working = (
            *by_grinding,
            Step("", "left by what came off", shown.total, unit, "difference"),
            Step("L", "length of the valve", by_length.parts[0], unit, MEASURED),
            Step("L_min", "− least length", by_length.parts[1], unit, GIVEN),
            Step("", "left by its length", by_length.total, unit, "difference"),
            Step("", text, smaller, unit, "the smaller of the two", is_total=True),
        )
    return TipLeft(
        calculation=Calculation("tip-left", 1),
        inputs={"most": most, "ground": ground, "length": length, "least": least},
        working=working,
        left=left,
    )


def spring_off(*, measured: Length, shims: Length, book: Length, unit: str = "in") -> SpringOff:
    """How far a spring stands off its book with the shims that are under it.

    stands = measured − shims; off = stands − book

    Parameters
    ----------
    measured : Length
        installed height without these shims [nm]
    shims : Length
        thickness of the stack, not below 0 [nm]
    book : Length
        the height wanted [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``shims``, below 0.

    >>> found = spring_off(measured=Length.of("1.830"), shims=Length.of(".015"),
    ...                    book=Length.of("1.800"))
    >>> found.stands.inches(3), found.off.inches(3)
    ('1.815', '.015')
    """
    if shims.nm < 0:
        raise CalculationError("shims", "must not be below 0")
    shown = shown_sum(
        parts=[(1, measured.nm), (-1, shims.nm), (-1, book.nm)],
        unit=unit,
        inch_places=4,
        mm_places=3,
    )
    return SpringOff(
        calculation=Calculation("spring-off", 1),
        inputs={"measured": measured, "shims": shims, "book": book},
        working=(
            Step("h", "installed height without shims", shown.parts[0], unit, MEASURED),
            Step("s", "− shims under it", shown.parts[1], unit, MEASURED),
            Step("h_b", "− height wanted", shown.parts[2], unit, GIVEN),
            Step(
                "",
                "stands over the height wanted (negative: under)",
                shown.total,
                unit,
                "sum of the three",
                is_total=True,
            ),
        ),
        stands=measured - shims,
        off=measured - shims - book,
    )
