"""The interference scale: the shop's window, the window less the possible error, the measured.

Places are percent of the drawing's width, so that lines stretch with the page and letters do not.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from app.calc.units import Length

# The window always stands on the same part of the line, so that the picture is learned.
WINDOW_FROM, WINDOW_TO = Fraction(28), Fraction(72)
LINE_FROM, LINE_TO = Fraction(2), Fraction(98)
TEXT_FROM, TEXT_TO = Fraction(12), Fraction(88)


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on the line with its figure."""

    x: str
    figure: str


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the line."""

    x: str
    width: str
    low: Mark
    high: Mark


@dataclass(frozen=True, slots=True)
class Measured:
    """The measured interference with its possible error as a whisker."""

    x: str
    text_x: str
    figure: str
    error_figure: str
    whisker_from: str
    whisker_to: str
    off_scale: Literal["", "low", "high"]


@dataclass(frozen=True, slots=True)
class InterferenceScale:
    """What the partial draws; `name` says the whole picture in words."""

    unit: str
    window: Span
    sure: Span | None
    measured: Measured | None
    name: str


def interference_scale(
    *,
    least: Length,
    most: Length,
    measured: Length | None = None,
    possible_error: Length | None = None,
    unit: str = "in",
    inch_places: int = 4,
    mm_places: int = 3,
) -> InterferenceScale:
    """Draw one position's interference; the sure part is left out when no error fits inside."""
    if most <= least:
        raise ValueError("the window's largest interference must be larger than its least")
    error = abs(possible_error) if possible_error is not None else Length(0)

    def figure(length: Length, more: int = 0) -> str:
        return length.shown(unit, inch_places + more, mm_places + more)

    def place(length: Length) -> Fraction:
        share = Fraction(length.nm - least.nm, most.nm - least.nm)
        return WINDOW_FROM + share * (WINDOW_TO - WINDOW_FROM)

    def span(low: Length, high: Length, more: int) -> Span:
        x0, x1 = place(low), place(high)
        return Span(
            _percent(x0),
            _percent(x1 - x0),
            Mark(_percent(x0), figure(low, more)),
            Mark(_percent(x1), figure(high, more)),
        )

    window = span(least, most, 0)
    low, high = least + error, most - error
    # The least may be a whole thou and the error a tenth of one: a digit more where it is needed.
    more = (
        0 if all(_is_exact(length, unit, inch_places, mm_places) for length in (low, high)) else 1
    )
    sure = span(low, high, more) if low < high else None

    shown: Measured | None = None
    if measured is not None:
        at = place(measured)
        off: Literal["", "low", "high"] = (
            "low" if at < LINE_FROM else "high" if at > LINE_TO else ""
        )
        pinned = _within(at, LINE_FROM, LINE_TO)
        shown = Measured(
            x=_percent(pinned),
            text_x=_percent(_within(pinned, TEXT_FROM, TEXT_TO)),
            figure=figure(measured, 1),
            error_figure=figure(error, 1) if error else "",
            whisker_from=_percent(_within(place(measured - error), LINE_FROM, LINE_TO)),
            whisker_to=_percent(_within(place(measured + error), LINE_FROM, LINE_TO)),
            off_scale=off,
        )
    return InterferenceScale(
        unit=unit,
        window=window,
        sure=sure,
        measured=shown,
        name=_told(window, sure, shown, unit),
    )


def _told(window: Span, sure: Span | None, measured: Measured | None, unit: str) -> str:
    words = {"in": "inch", "mm": "mm"}[unit]
    parts = []
    if measured is None:
        parts.append("Interference not measured yet")
    else:
        error = f", give or take {measured.error_figure}" if measured.error_figure else ""
        parts.append(f"Interference {measured.figure} {words}{error}")
    parts.append(f"window {window.low.figure} to {window.high.figure}")
    if sure is None:
        parts.append("the possible error is as wide as the window")
    else:
        parts.append(f"inside even with the possible error {sure.low.figure} to {sure.high.figure}")
    if measured is not None and measured.off_scale:
        parts.append("off the drawn scale")
    return "; ".join(parts)


def _is_exact(length: Length, unit: str, inch_places: int, mm_places: int) -> bool:
    step: int = 25_400_000 // 10**inch_places if unit == "in" else 1_000_000 // 10**mm_places
    return length.nm % step == 0


def _within(value: Fraction, low: Fraction, high: Fraction) -> Fraction:
    return max(low, min(high, value))


def _percent(value: Fraction) -> str:
    return f"{float(value):.2f}".rstrip("0").rstrip(".") + "%"
