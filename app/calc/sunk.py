"""A valve that lies deeper than it came in: how far, and how its stem should stand for it."""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.errors import CalculationError
from app.calc.shown import shown_sum
from app.calc.sources import MEASURED
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length


@dataclass(frozen=True, kw_only=True)
class Sunk(Result):
    """How much deeper a valve lies below the deck; negative: it was raised."""

    sunk: Length


@dataclass(frozen=True, kw_only=True)
class StemShould(Result):
    """Where a stem should stand, and how far from there it was read."""

    should: Length
    off: Length


def sunk_since(*, before: Length, after: Length, unit: str = "in") -> Sunk:
    """How much deeper a valve lies than it did.

    s = r₂ − r₁

    Parameters
    ----------
    before : Length
        r₁, below the deck as it came in [nm]
    after : Length
        r₂, below the deck now [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    >>> sunk_since(before=Length.of(".031"), after=Length.of(".035")).sunk.inches(4)
    '.0040'
    """
    shown = shown_sum(
        parts=[(1, after.nm), (-1, before.nm)], unit=unit, inch_places=4, mm_places=3, limits=[0]
    )
    return Sunk(
        calculation=Calculation("sunk-since", 1),
        inputs={"before": before, "after": after},
        working=(
            Step("r₂", "below the deck now", shown.parts[0], unit, MEASURED),
            Step("r₁", "− below the deck as it came in", shown.parts[1], unit, MEASURED),
            Step("s", "sunk (negative: raised)", shown.total, unit, "difference", is_total=True),
        ),
        sunk=after - before,
    )


def stem_should(
    *, came_in: Length, sunk: Length, ground: Length, read: Length, unit: str = "in"
) -> StemShould:
    """Where the stem of the same valve should stand after its seat was cut and its tip ground.

    should = h + s − t; off = read − should

    Parameters
    ----------
    came_in : Length
        h, stem height before anything was cut [nm]
    sunk : Length
        s, how much deeper the valve lies; negative: raised [nm]
    ground : Length
        t, ground off the tip, not below 0 [nm]
    read : Length
        stem height now [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``ground``, below 0.

    >>> found = stem_should(came_in=Length.of("1.850"), sunk=Length.of(".004"),
    ...                     ground=Length.of(".001"), read=Length.of("1.855"))
    >>> found.should.inches(4), found.off.inches(4)
    ('1.8530', '.0020')
    """
    if ground.nm < 0:
        raise CalculationError("ground", "must not be below 0")
    shown = shown_sum(
        parts=[(1, read.nm), (-1, came_in.nm), (-1, sunk.nm), (1, ground.nm)],
        unit=unit,
        inch_places=4,
        mm_places=3,
        limits=[0],
    )
    should = came_in + sunk - ground
    return StemShould(
        calculation=Calculation("stem-should", 1),
        inputs={"came_in": came_in, "sunk": sunk, "ground": ground, "read": read},
        working=(
            Step("", "stem height now", shown.parts[0], unit, MEASURED),
            Step("h", "− as it came in", shown.parts[1], unit, MEASURED),
            Step("s", "− sunk since", shown.parts[2], unit, "difference"),
            Step("t", "+ ground off the tip", shown.parts[3], unit, MEASURED),
            Step(
                "",
                "off from where it should stand (negative: lower)",
                shown.total,
                unit,
                "sum of the four",
                is_total=True,
            ),
        ),
        should=should,
        off=read - should,
    )
