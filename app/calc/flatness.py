"""How far a face is from flat: the widest gap under a straight edge against a limit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.calc.errors import CalculationError
from app.calc.shown import shown_nm
from app.calc.sources import GIVEN, MEASURED
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length

FLATNESS = Calculation("flatness", 1)


@dataclass(frozen=True, kw_only=True)
class Flatness(Result):
    """The widest gap, where it is, and what it leaves of the limit."""

    widest: Length
    places: tuple[str, ...]  # more than one when they are alike
    limit: Length
    spare: Length  # negative: past the limit by so much
    is_within: bool


def widest_gap(*, gaps: Mapping[str, Length], limit: Length, unit: str = "in") -> Flatness:
    """The widest gap under a straight edge along named lines, against what is allowed.

    widest = max(gaps); within when widest ≤ limit. A gap over the whole line and a gap within a
    part of it have limits of their own and are never mixed: ask once for each.

    Parameters
    ----------
    gaps : mapping of str to Length
        gap by the line it was read on; a gap without a line says nothing [nm]
    limit : Length
        the engine maker's limit, or the shop's [nm]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    Flatness
        exact; nothing is rounded

    Raises
    ------
    CalculationError
        without a gap, with a gap that has no place, or with a negative length

    >>> found = widest_gap(gaps={"along middle": Length.of(".0035"), "across": Length.of(".002")},
    ...                    limit=Length.of(".004"))
    >>> found.places, found.spare.inches(4), found.is_within
    (('along middle',), '.0005', True)
    """
    if not gaps:
        raise CalculationError("gaps", "at least one gap is needed")
    if any(not place.strip() for place in gaps):
        raise CalculationError("gaps", "a flatness without a place says nothing")
    if limit.nm < 0 or any(gap.nm < 0 for gap in gaps.values()):
        raise CalculationError("gaps", "a gap and its limit cannot be negative")
    widest = max(gaps.values())
    places = tuple(place for place, gap in gaps.items() if gap == widest)
    spare = Length(limit.nm - widest.nm)
    within = widest <= limit
    said = "not past the limit" if within else "past the limit"
    return Flatness(
        calculation=FLATNESS,
        inputs={"gaps": dict(gaps), "limit": limit},
        widest=widest,
        places=places,
        limit=limit,
        spare=spare,
        is_within=within,
        working=(
            *(Step("", place, _shown(gap, unit), unit, MEASURED) for place, gap in gaps.items()),
            Step("widest", f"widest: {said}", _shown(widest, unit), unit, MEASURED, is_total=True),
            Step("limit", "limit", _shown(limit, unit), unit, GIVEN),
        ),
    )


def _shown(length: Length, unit: str) -> str:
    return shown_nm(length.nm, unit, inch_places=4, mm_places=3)
