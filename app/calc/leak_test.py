"""A vacuum that is pulled on a port: what it lost, and whether that is within the shop's line."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from app.calc.errors import CalculationError, OrderError
from app.calc.sources import GIVEN, INCH_OF_MERCURY, MEASURED
from app.calc.trace import Calculation, Result, Step
from app.calc.units import decimal_text, trimmed

PA_PER_INHG = Fraction("3386.389")


@dataclass(frozen=True, kw_only=True)
class LeakTest(Result):
    """What a vacuum lost in the time of the shop's line.

    `lost` is worked to that time in proportion to the time it was watched. `holds_enough` and
    `loses_little` are the two halves of the line; `is_watched` is False where it was watched
    for a shorter time than the line says.
    """

    lost_inhg: Fraction
    holds_enough: bool
    loses_little: bool
    is_watched: bool

    @property
    def passes(self) -> bool:
        """Both halves hold, over at least the time of the line."""
        return self.holds_enough and self.loses_little and self.is_watched


def in_mercury(*, figure: Fraction, unit: str) -> Fraction:
    """A vacuum as a gauge reads it, in inches of mercury.

    p/(3386.389 Pa); 1 kPa = 1000 Pa

    Parameters
    ----------
    figure : Fraction
        what the gauge reads, below the air around it [-]
    unit : str
        ``inHg`` or ``kPa`` [-]

    Raises
    ------
    CalculationError
        field ``unit``, any other.

    >>> round(float(in_mercury(figure=Fraction(75), unit="kPa")), 2)
    22.15
    """
    if unit == "inHg":
        return figure
    if unit != "kPa":
        raise CalculationError("unit", "must be inHg or kPa")
    return figure * 1000 / PA_PER_INHG


def leak_test(
    *,
    start_inhg: Fraction,
    end_inhg: Fraction,
    seconds: Fraction,
    least_end_inhg: Fraction,
    most_lost_inhg: Fraction,
    over_seconds: Fraction,
) -> LeakTest:
    """Hold a vacuum test against the shop's line.

    lost = (start − end)·T/t; passes when end ≥ least, lost ≤ most and t ≥ T

    Parameters
    ----------
    start_inhg : Fraction
        vacuum when the pump was shut off, above 0 [inHg]
    end_inhg : Fraction
        vacuum after the time, from 0 to the start [inHg]
    seconds : Fraction
        t, how long it was watched, above 0 [s]
    least_end_inhg : Fraction
        what has to be left [inHg]
    most_lost_inhg : Fraction
        what may be lost in the time of the line [inHg]
    over_seconds : Fraction
        T, the time of the line, above 0 [s]

    Raises
    ------
    CalculationError
        field ``start_inhg``, ``seconds`` or ``over_seconds`` not above 0, ``end_inhg`` below 0 or
        above the start.

    >>> line = dict(least_end_inhg=Fraction(20), most_lost_inhg=Fraction(1),
    ...             over_seconds=Fraction(10))
    >>> leak_test(start_inhg=Fraction(23), end_inhg=Fraction("22.5"), seconds=Fraction(10),
    ...           **line).passes
    True
    >>> leak_test(start_inhg=Fraction(23), end_inhg=Fraction(22), seconds=Fraction(5),
    ...           **line).lost_inhg
    Fraction(2, 1)
    """
    for name, value in (
        ("start_inhg", start_inhg),
        ("seconds", seconds),
        ("over_seconds", over_seconds),
    ):
        if value <= 0:
            raise CalculationError(name, "must be above 0")
    if end_inhg < 0:
        raise CalculationError("end_inhg", "must not be below 0")
    if end_inhg > start_inhg:
        raise OrderError("end_inhg", "must not be above the start")
    lost = (start_inhg - end_inhg) * over_seconds / seconds
    holds, little = end_inhg >= least_end_inhg, lost <= most_lost_inhg
    return LeakTest(
        calculation=Calculation("leak-test", 1),
        inputs={
            "start_inhg": start_inhg,
            "end_inhg": end_inhg,
            "seconds": seconds,
            "least_end_inhg": least_end_inhg,
            "most_lost_inhg": most_lost_inhg,
            "over_seconds": over_seconds,
        },
        working=(
            Step("", "vacuum at the start", _told(start_inhg), "inHg", MEASURED),
            Step("", "vacuum at the end", _told(end_inhg), "inHg", MEASURED),
            Step("t", "watched for", _told(seconds), "s", MEASURED),
            Step("T", "time of the shop's line", _told(over_seconds), "s", GIVEN),
            Step("", "has to be left", _told(least_end_inhg), "inHg", GIVEN),
            Step("", "may be lost in that time", _told(most_lost_inhg), "inHg", GIVEN),
            Step(
                "",
                "lost in that time, (start − end)·T/t; a gauge in kPa is read at "
                f"{_told(PA_PER_INHG / 1000, 6)} kPa to the inch",
                _told(lost),
                "inHg",
                INCH_OF_MERCURY.cited,
                is_total=True,
            ),
        ),
        lost_inhg=lost,
        holds_enough=holds,
        loses_little=little,
        is_watched=seconds >= over_seconds,
    )


def _told(number: Fraction, places: int = 2) -> str:
    return trimmed(decimal_text(number, places))
