"""Whether a cut at the target leaves any of the old pocket standing."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from app.calc.shown import shown_nm, shown_sum
from app.calc.sources import GEOMETRY, GIVEN, MEASURED
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length

CALCULATION = Calculation("clean-up", 1)


@dataclass(frozen=True, kw_only=True)
class CleanUp(Result):
    """Whether the old pocket cleans up, and by how much on the radius."""

    cleans_up: bool
    spare: Length


def clean_up(
    *,
    target_bore: Length,
    old_bore_max: Length,
    old_run_out: Length,
    stock: Length,
    unit: str = "in",
) -> CleanUp:
    """Whether a bore cleans up an old pocket that stands off the guide's axis.

    cleans up when (B − B_old)/2 ≥ TIR/2 + t; spare = (B − B_old)/2 − TIR/2 − t

    Parameters
    ----------
    target_bore : Length
        bore to be cut; pages pass the window's least bore [nm]
    old_bore_max : Length
        largest diameter read in the old pocket [nm]
    old_run_out : Length
        full indicator movement of the old pocket about the guide's axis [nm]
    stock : Length
        least that the tip must take off everywhere, on the radius [nm]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    CleanUp
        `spare` on the radius, nearest nanometre, ties to even; negative when it does not clean up

    Notes
    -----
    The decision is taken on the exact figures, before `spare` is rounded.

    >>> given = dict(old_bore_max=Length.of("1.6150"), old_run_out=Length.of(".006"),
    ...              stock=Length.of(".001"))
    >>> clean_up(target_bore=Length.of("1.6221"), **given).cleans_up
    False
    >>> clean_up(target_bore=Length.of("1.6321"), **given).spare.inches(5)
    '.00455'
    """
    wall = Fraction(target_bore.nm - old_bore_max.nm, 2)
    offset = Fraction(old_run_out.nm, 2)
    spare = wall - offset - stock.nm
    cleans = spare >= 0
    return CleanUp(
        calculation=CALCULATION,
        inputs={
            "target_bore": target_bore,
            "old_bore_max": old_bore_max,
            "old_run_out": old_run_out,
            "stock": stock,
        },
        cleans_up=cleans,
        spare=Length.nearest(spare),
        working=_working(target_bore, old_bore_max, wall, offset, stock, spare, cleans, unit),
    )


def _working(
    target_bore: Length,
    old_bore_max: Length,
    wall: Fraction,
    offset: Fraction,
    stock: Length,
    spare: Fraction,
    cleans: bool,
    unit: str,
) -> tuple[Step, ...]:
    shown = shown_sum(parts=[(1, wall), (-1, offset), (-1, stock.nm)], unit=unit, limits=[0])
    wall_text, offset_text, stock_text = shown.parts
    verdict = "cleans up" if cleans else "does not clean up"
    return (
        Step("B", "bore to be cut", shown_nm(target_bore.nm, unit), unit, GIVEN),
        Step("B_old", "largest old diameter", shown_nm(old_bore_max.nm, unit), unit, MEASURED),
        Step("(B − B_old)/2", "metal outside it, on the radius", wall_text, unit, GEOMETRY),
        Step("TIR/2", "− old pocket's offset from the axis", offset_text, unit, MEASURED),
        Step("t", "− stock to take off everywhere", stock_text, unit, GIVEN),
        Step("s", f"spare on the radius: {verdict}", shown.total, unit, GEOMETRY, is_total=True),
    )
