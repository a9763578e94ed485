"""Chamber volumes of a head held against each other: how far apart, and which one is out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from app.calc.errors import CalculationError
from app.calc.sources import GIVEN, MEASURED
from app.calc.trace import Calculation, Result, Step
from app.calc.units import decimal_text


@dataclass(frozen=True, kw_only=True)
class ChamberMatch(Result):
    """How far apart volumes are.

    `out` says of each cylinder that is out by how much it is over (+) or under (−) the nearest of
    those that match; empty where all match, and where the figures do not say which one is out.
    """

    spread_cm3: Fraction
    matches: bool
    out: Mapping[str, Fraction]


def chamber_match(*, volumes_cm3: Mapping[str, Fraction], most_apart_cm3: Fraction) -> ChamberMatch:
    """Hold the volumes of a head's chambers against each other.

    spread = largest − least; matches when spread ≤ most. Else the largest group within `most` of
    each other matches and the rest is out; two such groups of one size leave it open.

    Parameters
    ----------
    volumes_cm3 : mapping of str to Fraction
        cylinder to its volume, above 0, at least two [cm³]
    most_apart_cm3 : Fraction
        the shop's figure, not below 0 [cm³]

    Raises
    ------
    CalculationError
        field ``volumes_cm3``, fewer than two or one not above 0; ``most_apart_cm3`` below 0.

    >>> found = chamber_match(volumes_cm3={"1": Fraction("43.2"), "2": Fraction("43.4"),
    ...                                    "3": Fraction("44.6"), "4": Fraction("43.1")},
    ...                       most_apart_cm3=Fraction(1))
    >>> float(found.spread_cm3), {name: float(by) for name, by in found.out.items()}
    (1.5, {'3': 1.2})
    """
    if len(volumes_cm3) < 2:
        raise CalculationError("volumes_cm3", "must be two at least")
    if any(volume <= 0 for volume in volumes_cm3.values()):
        raise CalculationError("volumes_cm3", "must be above 0")
    if most_apart_cm3 < 0:
        raise CalculationError("most_apart_cm3", "must not be below 0")
    least, largest = min(volumes_cm3.values()), max(volumes_cm3.values())
    spread = largest - least
    matches = spread <= most_apart_cm3
    return ChamberMatch(
        calculation=Calculation("chamber-match", 1),
        inputs={"volumes_cm3": dict(volumes_cm3), "most_apart_cm3": most_apart_cm3},
        working=(
            *(
                Step("", f"cylinder {name}", decimal_text(volume, 2), "cm³", MEASURED)
                for name, volume in volumes_cm3.items()
            ),
            Step("", "may be apart by", decimal_text(most_apart_cm3, 2), "cm³", GIVEN),
            Step(
                "",
                "largest less least",
                decimal_text(spread, 2),
                "cm³",
                "difference",
                is_total=True,
            ),
        ),
        spread_cm3=spread,
        matches=matches,
        out={} if matches else _out(volumes_cm3, most_apart_cm3),
    )


def _out(volumes: Mapping[str, Fraction], most: Fraction) -> dict[str, Fraction]:
    """Those outside the one largest group; nothing where there are two."""
    groups = {
        frozenset(name for name, other in volumes.items() if start <= other <= start + most)
        for start in volumes.values()
    }
    most_of_all = max(len(group) for group in groups)
    largest = [group for group in groups if len(group) == most_of_all]
    if len(largest) > 1:
        return {}
    low = min(volumes[name] for name in largest[0])
    high = max(volumes[name] for name in largest[0])
    return {
        name: volume - (high if volume > high else low)
        for name, volume in volumes.items()
        if name not in largest[0]
    }
