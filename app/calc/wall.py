"""Metal left beside the counterbore: the web to the next one, and the wall to the water."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from app.calc.shown import shown_nm, shown_sum
from app.calc.sources import GEOMETRY, GIVEN, MEASURED
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length

WEB = Calculation("web", 1)
WALL = Calculation("wall", 1)
NOT_KNOWN = "not known"


@dataclass(frozen=True, kw_only=True)
class MetalLeft(Result):
    """What is left, and whether that is the shop's least; both None when it is not known."""

    left: Length | None
    least: Length
    spare: Length | None
    is_enough: bool | None


def web_left(
    *,
    centre_distance: Length | None,
    bore: Length,
    neighbour_bore: Length,
    least: Length,
    unit: str = "in",
) -> MetalLeft:
    """Metal between two neighbouring counterbores.

    web = centre distance − (B₁ + B₂)/2; enough when web ≥ least

    Parameters
    ----------
    centre_distance : Length
        distance of the two axes, or None when it is not known [nm]
    bore : Length
        B₁, the counterbore to be cut [nm]
    neighbour_bore : Length
        B₂, the counterbore beside it [nm]
    least : Length
        the shop's least web [nm]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    MetalLeft
        nearest nanometre, ties to even; negative when the bores overlap

    >>> web_left(centre_distance=Length.of("1.720"), bore=Length.of("1.622"),
    ...          neighbour_bore=Length.of("1.688"), least=Length.of(".060")).left.inches(4)
    '.0650'
    """
    inputs = {
        "centre_distance": centre_distance,
        "bore": bore,
        "neighbour_bore": neighbour_bore,
        "least": least,
    }
    if centre_distance is None:
        return _not_known(WEB, inputs, "distance of the two axes", least, unit)
    radii = [Fraction(bore.nm, 2), Fraction(neighbour_bore.nm, 2)]
    return _left(
        WEB,
        inputs,
        ("axes stand apart by", Fraction(centre_distance.nm)),
        [("− half of this bore", radii[0]), ("− half of the bore beside it", radii[1])],
        "web",
        least,
        unit,
    )


def wall_left(
    *,
    wall_now: Length | None,
    bore_now: Length,
    bore: Length,
    least: Length,
    unit: str = "in",
) -> MetalLeft:
    """Wall to the water once the counterbore is opened, the axis unchanged.

    wall = wall now − (B − B_now)/2; enough when wall ≥ least

    Parameters
    ----------
    wall_now : Length
        thinnest wall behind the pocket, or None when it is not known [nm]
    bore_now : Length
        B_now, the pocket's diameter when that wall was measured [nm]
    bore : Length
        B, the counterbore to be cut [nm]
    least : Length
        the shop's least wall for this head material [nm]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    MetalLeft
        nearest nanometre, ties to even

    >>> wall_left(wall_now=Length.of(".110"), bore_now=Length.of("1.6150"),
    ...           bore=Length.of("1.6350"), least=Length.of(".100")).is_enough
    True
    """
    inputs = {"wall_now": wall_now, "bore_now": bore_now, "bore": bore, "least": least}
    if wall_now is None:
        return _not_known(WALL, inputs, "wall behind the pocket", least, unit)
    return _left(
        WALL,
        inputs,
        ("wall behind the pocket now", Fraction(wall_now.nm)),
        [("− half of what the bore grows by", Fraction(bore.nm - bore_now.nm, 2))],
        "wall",
        least,
        unit,
    )


def _left(
    calculation: Calculation,
    inputs: dict[str, Length | None],
    start: tuple[str, Fraction],
    taken: list[tuple[str, Fraction]],
    name: str,
    least: Length,
    unit: str,
) -> MetalLeft:
    left = start[1] - sum((amount for _, amount in taken), Fraction(0))
    enough = left >= least.nm
    shown = shown_sum(
        parts=[(1, start[1]), *((-1, amount) for _, amount in taken)],
        unit=unit,
        inch_places=4,
        mm_places=3,
        limits=[least.nm],
    )
    outcome = "not under the shop's least" if enough else "under the shop's least"
    return MetalLeft(
        calculation=calculation,
        inputs=inputs,
        left=Length.nearest(left),
        least=least,
        spare=Length.nearest(left - least.nm),
        is_enough=enough,
        working=(
            Step("", start[0], shown.parts[0], unit, MEASURED),
            *(
                Step("", words, part, unit, GEOMETRY)
                for (words, _), part in zip(taken, shown.parts[1:], strict=True)
            ),
            Step(name, f"{name} left: {outcome}", shown.total, unit, GEOMETRY, is_total=True),
            _least_step(least, unit),
        ),
    )


def _not_known(
    calculation: Calculation,
    inputs: dict[str, Length | None],
    what: str,
    least: Length,
    unit: str,
) -> MetalLeft:
    return MetalLeft(
        calculation=calculation,
        inputs=inputs,
        left=None,
        least=least,
        spare=None,
        is_enough=None,
        working=(Step("", what, NOT_KNOWN, "", "nobody measured it"), _least_step(least, unit)),
    )


def _least_step(least: Length, unit: str) -> Step:
    shown = shown_nm(least.nm, unit, inch_places=4, mm_places=3)
    return Step("least", "the shop's least", shown, unit, GIVEN)
