"""Where things stand on the interference scale, as fractions of its length; nothing is drawn here.

The window always fills the middle half, so that a place on the scale means the same at a glance on
every page; what lies beyond is held at the end and says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from app.calc.errors import CalculationError, OrderError
from app.calc.units import Length

WINDOW_FROM = Fraction(1, 4)
WINDOW_TO = Fraction(3, 4)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the scale from one fraction of its length to another."""

    start: float
    end: float


@dataclass(frozen=True, slots=True)
class InterferenceScale:
    """Fractions from 0 (loose end) to 1 (tight end).

    `guarded` is None when the possible error leaves nothing of the window; `value` and `whisker`
    are None before anything was measured. `beyond` is -1 or 1 when the value lies off the scale's
    loose or tight end, and 0 otherwise.
    """

    window: Stretch
    guarded: Stretch | None
    value: float | None
    whisker: Stretch | None
    beyond: int


def interference_scale(
    *, least: Length, most: Length, uncertainty: Length, value: Length | None
) -> InterferenceScale:
    """Places of the window, the window less its possible error, the value and its whisker.

    place = 1/4 + (I − least)/(2·(most − least)), held between 0 and 1; guarded = least + U …
    most − U; whisker = value − U … value + U. A window that is a single point stands in the
    middle, and everything else at the ends.

    Parameters
    ----------
    least : Length
        window's least interference [nm]
    most : Length
        window's most interference [nm]
    uncertainty : Length
        U, expanded, k = 2 [nm]
    value : Length or None
        interference got, None before it is measured [nm]

    Raises
    ------
    OrderError
        field ``interference.min``, when least is above most.
    CalculationError
        field ``uncertainty``, when negative.

    >>> inch = Length.of
    >>> scale = interference_scale(least=inch(".003"), most=inch(".005"),
    ...                            uncertainty=inch(".0004"), value=inch(".00395"))
    >>> scale.window, scale.guarded
    (Stretch(start=0.25, end=0.75), Stretch(start=0.35, end=0.65))
    >>> scale.value, scale.whisker
    (0.4875, Stretch(start=0.3875, end=0.5875))
    """
    if least > most:
        raise OrderError("interference.min", "is above the most")
    if uncertainty.nm < 0:
        raise CalculationError("uncertainty", "cannot be negative")

    def stretch(start: Length, end: Length) -> Stretch:
        return Stretch(_place(start, least, most), _place(end, least, most))

    guarded_from, guarded_to = least + uncertainty, most - uncertainty
    return InterferenceScale(
        window=stretch(least, most),
        guarded=stretch(guarded_from, guarded_to) if guarded_from <= guarded_to else None,
        value=None if value is None else _place(value, least, most),
        whisker=None if value is None else stretch(value - uncertainty, value + uncertainty),
        beyond=0 if value is None else _beyond(value, least, most),
    )


def _unheld(length: Length, least: Length, most: Length) -> Fraction:
    if least == most:
        return Fraction(1, 2) + ((length > least) - (length < least))
    along = Fraction((length - least).nm, (most - least).nm)
    return WINDOW_FROM + along * (WINDOW_TO - WINDOW_FROM)


def _place(length: Length, least: Length, most: Length) -> float:
    return float(min(Fraction(1), max(Fraction(0), _unheld(length, least, most))))


def _beyond(value: Length, least: Length, most: Length) -> int:
    place = _unheld(value, least, most)
    return (place > 1) - (place < 0)
