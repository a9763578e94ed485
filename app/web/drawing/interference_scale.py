"""The interference scale as drawn: the window, the window less the possible error, the measured.

Places are percent of the drawing's width, so that lines stretch with the page and letters do not.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from app.calc.interference_scale import Stretch
from app.calc.interference_scale import interference_scale as places
from app.calc.units import NM_PER_UNIT, Length
from app.workflow.kinds import Unit

# A little air at both ends, for the whisker's cap and the words.
LINE_FROM, LINE_TO = 2.0, 98.0
# A figure stands over its mark, but never runs out of the drawing.
TEXT_FROM, TEXT_TO = 13.0, 87.0
UNIT_WORDS = {unit.value: unit.screen for unit in Unit}


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on the line with its figure."""

    x: str
    figure: str


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the line with the figures of its ends."""

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
    leaves_none: bool
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
    """Draw one position's interference; the sure part is left out when the error leaves none.

    The measured figure has one digit more than the limits.
    """
    error = possible_error if possible_error is not None else Length(0)
    at = places(least=least, most=most, uncertainty=error, value=measured)
    low, high = least + error, most - error
    # A window in tenths less an error in hundredths needs the hundredths to subtract.
    sure_more = 0 if _fits(low, unit, inch_places, mm_places) else 1

    def figure(length: Length, more: int = 0) -> str:
        return length.shown(unit, inch_places + more, mm_places + more)

    window = _span(at.window, figure(least), figure(most))
    sure = None
    if at.guarded is not None and error:
        sure = _span(at.guarded, figure(low, sure_more), figure(high, sure_more))
    shown = None
    if measured is not None and at.value is not None and at.whisker is not None:
        along = _along(at.value)
        shown = Measured(
            x=_percent(along),
            text_x=_percent(max(TEXT_FROM, min(TEXT_TO, along))),
            figure=figure(measured, 1),
            error_figure=figure(error, 1) if error else "",
            whisker_from=_percent(_along(at.whisker.start)),
            whisker_to=_percent(_along(at.whisker.end)),
            off_scale="low" if at.beyond < 0 else "high" if at.beyond > 0 else "",
        )
    leaves_none = at.guarded is None
    return InterferenceScale(
        unit=unit,
        window=window,
        sure=sure,
        leaves_none=leaves_none,
        measured=shown,
        name=_told(window, sure, shown, leaves_none, UNIT_WORDS[unit]),
    )


def _told(
    window: Span, sure: Span | None, measured: Measured | None, leaves_none: bool, unit: str
) -> str:
    parts = []
    if measured is None:
        parts.append(f"Interference in {unit}, not measured yet")
    else:
        error = f", give or take {measured.error_figure}" if measured.error_figure else ""
        parts.append(f"Interference {measured.figure} {unit}{error}")
    parts.append(f"window {window.low.figure} to {window.high.figure}")
    if sure is not None:
        parts.append(f"inside even with the possible error {sure.low.figure} to {sure.high.figure}")
    elif leaves_none:
        parts.append("the possible error is as wide as the window")
    if measured is not None and measured.off_scale:
        parts.append("off the drawn scale")
    return "; ".join(parts)


def _span(stretch: Stretch, low: str, high: str) -> Span:
    start, end = _along(stretch.start), _along(stretch.end)
    return Span(
        x=_percent(start),
        width=_percent(end - start),
        low=Mark(_percent(start), low),
        high=Mark(_percent(end), high),
    )


def _fits(length: Length, unit: str, inch_places: int, mm_places: int) -> bool:
    places_shown = inch_places if unit == "in" else mm_places
    scaled: int = length.nm * 10**places_shown
    return scaled % NM_PER_UNIT[unit] == 0


def _along(fraction: float) -> float:
    return LINE_FROM + fraction * (LINE_TO - LINE_FROM)


def _percent(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") + "%"
