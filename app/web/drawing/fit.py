"""A fit in heat as drawn: one line for each case from "no interference" to what is left.

Places are percent of the drawing's width, so that lines stretch with the page and letters do not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.calc.shown import shown_nm
from app.calc.units import Length
from app.workflow.kinds import Unit

LINE_TO = 97.0
# Room left of zero for the words "no grip left", whatever the figures.
ZERO_AT_LEAST = 30.0
COLD = "cold, 20 °C"
UNIT_WORDS = {unit.value: unit.screen for unit in Unit}


@dataclass(frozen=True, slots=True)
class FitLine:
    """One case: its name, its figure as printed, and its line from zero."""

    name: str
    figure: str
    start: str
    width: str
    end: str
    is_gone: bool  # nothing holds the ring: the line goes left of zero


@dataclass(frozen=True, slots=True)
class FitPicture:
    """What the partial draws; `name` says the whole picture in words."""

    unit: str
    zero: str
    lines: tuple[FitLine, ...]
    name: str


def fit_picture(
    *, cold: Length, cases: Sequence[tuple[str, Length]], unit: str = "in"
) -> FitPicture:
    """Draw the interference cold and in each case, on one scale with zero marked."""
    every = [(COLD, cold), *cases]
    least = min(0, *(one.nm for _, one in every))
    most = max(1, *(one.nm for _, one in every))
    # Where clearance needs more than the room that is there, zero moves to the right.
    share = -least / (most - least)
    zero = max(ZERO_AT_LEAST, share * LINE_TO)
    per_nm = min((LINE_TO - zero) / most, zero / -least if least else float("inf"))
    lines = tuple(_line(name, one, zero, per_nm, unit) for name, one in every)
    return FitPicture(unit=unit, zero=_percent(zero), lines=lines, name=_told(lines, unit))


def _line(name: str, length: Length, zero: float, per_nm: float, unit: str) -> FitLine:
    end = zero + length.nm * per_nm
    return FitLine(
        name=name,
        figure=shown_nm(length.nm, unit, inch_places=4, mm_places=3).replace("-", "−"),
        start=_percent(min(zero, end)),
        width=_percent(abs(end - zero)),
        end=_percent(end),
        is_gone=length.nm <= 0,
    )


def _told(lines: Sequence[FitLine], unit: str) -> str:
    cases = "; ".join(
        f"{line.name} {line.figure}{', no grip left' if line.is_gone else ''}" for line in lines
    )
    return f"Interference in {UNIT_WORDS[unit]}: {cases}"


def _percent(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") + "%"
