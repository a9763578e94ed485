"""How far a pilot in its guide lets the spindle stand off the guide's axis at the cut."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from app.calc.errors import CalculationError
from app.calc.shown import shown_nm, shown_sum
from app.calc.sources import GEOMETRY, MEASURED, TAPERED_PILOT
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length

# A pilot with more clearance than this is one for another stem (common practice).
LOOSE = Length.of(".003")


@dataclass(frozen=True, kw_only=True)
class PilotRunOut(Result):
    """Clearance on diameter, and the offset and run-out that it allows at the cut."""

    clearance: Length
    offset: Length
    run_out: Length


def pilot_run_out(
    *,
    guide_bore: Length,
    pilot: Length,
    guide_length: Length,
    overhang: Length,
    unit: str = "in",
) -> PilotRunOut:
    """The most that a straight pilot's clearance lets the cut stand off the guide's axis.

    c = guide − pilot; offset = c/2 + c·x/L; run-out = 2 × offset

    Parameters
    ----------
    guide_bore : Length
        guide bore [nm]
    pilot : Length
        pilot diameter in the guide, not above the guide bore [nm]
    guide_length : Length
        L, the length of guide that the pilot fills, above 0 [nm]
    overhang : Length
        x, from the guide's end to the cut, 0 or more [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Returns
    -------
    PilotRunOut
        each rounded once from the exact value

    Raises
    ------
    CalculationError
        field ``pilot`` when it is larger than the guide bore; ``guide_length`` or ``overhang``
        when it is not a length in the guide.

    >>> found = pilot_run_out(guide_bore=Length.of(".3437"), pilot=Length.of(".3432"),
    ...                       guide_length=Length.of("2"), overhang=Length.of("1"))
    >>> found.clearance.inches(4), found.offset.inches(4), found.run_out.inches(4)
    ('.0005', '.0005', '.0010')
    """
    if pilot > guide_bore:
        raise CalculationError("pilot", "is larger than the guide bore; it cannot enter")
    if guide_length.nm <= 0:
        raise CalculationError("guide_length", "must be above 0")
    if overhang.nm < 0:
        raise CalculationError("overhang", "cannot be negative")
    clearance = guide_bore - pilot
    shift = Fraction(clearance.nm, 2)
    tilt = Fraction(clearance.nm * overhang.nm, guide_length.nm)
    fit = shown_sum(parts=[(1, guide_bore.nm), (-1, pilot.nm)], unit=unit)
    off = shown_sum(parts=[(1, shift), (1, tilt)], unit=unit)
    twice = shown_sum(parts=[(1, shift + tilt), (1, shift + tilt)], unit=unit)
    lengths = (
        f"{shown_nm(overhang.nm, unit, inch_places=3, mm_places=2)} over "
        f"{shown_nm(guide_length.nm, unit, inch_places=3, mm_places=2)}"
    )
    return PilotRunOut(
        calculation=Calculation("pilot", 1),
        inputs={
            "guide_bore": guide_bore,
            "pilot": pilot,
            "guide_length": guide_length,
            "overhang": overhang,
        },
        working=(
            Step("G", "guide bore", fit.parts[0], unit, MEASURED),
            Step("d", "− pilot", fit.parts[1], unit, MEASURED),
            Step("c", "clearance on diameter", fit.total, unit, "difference", is_total=True),
            Step("c/2", "pilot lies to one side", off.parts[0], unit, GEOMETRY),
            Step("c·x/L", f"pilot leans: {lengths}", off.parts[1], unit, GEOMETRY),
            Step("e", "offset at the cut", off.total, unit, GEOMETRY, is_total=True),
            Step("2e", "run-out", twice.total, unit, "twice the offset", is_total=True),
        ),
        clearance=clearance,
        offset=Length.nearest(shift + tilt),
        run_out=Length.nearest(2 * (shift + tilt)),
    )


def tapered_pilot_run_out(*, unit: str = "in") -> PilotRunOut:
    """What is known of a tapered pilot: it has no clearance, so none is counted.

    c = 0; offset = 0; run-out = 0. It can still lean in a bell-mouthed guide: that shows only on
    an indicator, not in these figures, and the working says so.

    Parameters
    ----------
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    >>> tapered_pilot_run_out().run_out
    Length(nm=0)
    """
    zero = Length(0)
    return PilotRunOut(
        calculation=Calculation("tapered_pilot", 1),
        inputs={},
        working=(
            Step("c", "clearance: none", shown_nm(0, unit), unit, TAPERED_PILOT.cited),
            Step(
                "2e",
                "run-out from clearance; a lean in a bell-mouthed guide is not known",
                shown_nm(0, unit),
                unit,
                GEOMETRY,
                is_total=True,
            ),
        ),
        clearance=zero,
        offset=zero,
        run_out=zero,
    )
