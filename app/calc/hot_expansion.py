"""How the expansion of heads and rings changes with temperature: means from 20 °C up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from app.calc.errors import MissingError
from app.calc.materials import HEAD_EXPANSION, RING_MATERIALS, HeadMaterial
from app.calc.sources import (
    CASTING_ALLOY_SHEET,
    HOT_WORK_SHEET,
    IRON_ANNEX,
    METALS_HANDBOOK,
    Source,
)
from app.calc.units import decimal_text, exact, trimmed

ROOM_TABLE_TO_C = 100  # tables print the mean from 20 to 100 °C as the room-temperature figure


@dataclass(frozen=True, slots=True)
class MeanPoint:
    """The mean expansion from 20 °C to `to_c`."""

    to_c: int
    alpha_per_k: Fraction
    source: Source


@dataclass(frozen=True, slots=True)
class MeanExpansion:
    """The mean expansion from 20 °C to one temperature, and how it was come by."""

    alpha_per_k: Fraction
    words: str
    source: str


def _points(source: Source, *points: tuple[int, int]) -> tuple[MeanPoint, ...]:
    return tuple(MeanPoint(to, Fraction(tenths, 10_000_000), source) for to, tenths in points)


_HEAD_HIGHER: dict[HeadMaterial, tuple[MeanPoint, ...]] = {
    HeadMaterial.GREY_IRON: _points(IRON_ANNEX, (200, 117), (400, 130)),
    HeadMaterial.DUCTILE_IRON: _points(IRON_ANNEX, (400, 125)),
    HeadMaterial.ALUMINIUM: _points(CASTING_ALLOY_SHEET, (200, 225), (300, 235)),
}
_RING_HIGHER: dict[str, tuple[MeanPoint, ...]] = {
    "grey_iron": _HEAD_HIGHER[HeadMaterial.GREY_IRON],
    "ductile_iron": _HEAD_HIGHER[HeadMaterial.DUCTILE_IRON],
    "chromium_steel": _points(METALS_HANDBOOK, (315, 110), (538, 116)),
    "hot_work_steel": _points(HOT_WORK_SHEET, (204, 113)),
    "stainless": _points(METALS_HANDBOOK, (315, 178), (538, 184)),
    "beryllium_copper": _points(METALS_HANDBOOK, (200, 170), (300, 178)),
}

HEAD_POINTS: dict[HeadMaterial, tuple[MeanPoint, ...]] = {
    material: (
        MeanPoint(ROOM_TABLE_TO_C, own.alpha_per_k, own.source),
        *_HEAD_HIGHER[material],
    )
    for material, own in HEAD_EXPANSION.items()
}
# A family without a source of its own has no points: its maker's figure is asked for.
RING_POINTS: dict[str, tuple[MeanPoint, ...]] = {
    key: (
        MeanPoint(ROOM_TABLE_TO_C, own.expansion.alpha_per_k, own.expansion.source),
        *_RING_HIGHER.get(key, ()),
    )
    if own.expansion
    else ()
    for key, own in RING_MATERIALS.items()
}


def mean_expansion(
    *, points: Sequence[MeanPoint], temperature_c: float | int | Fraction
) -> MeanExpansion:
    """The mean expansion from 20 °C to a temperature, straight between the tabled ones.

    Below the first point and beyond the last it is taken as there; the words say so.

    Parameters
    ----------
    points : sequence of MeanPoint
        by rising temperature [-]
    temperature_c : float, int or Fraction
        T [°C]

    Raises
    ------
    MissingError
        field ``alpha_per_k`` without a point: the maker's figure is needed.

    >>> hot = mean_expansion(points=HEAD_POINTS[HeadMaterial.ALUMINIUM], temperature_c=250)
    >>> round(float(hot.alpha_per_k) * 1e6, 3), hot.words
    (23.0, 'mean from 20 to 250 °C')
    """
    if not points:
        raise MissingError("alpha_per_k", "is not known for this material: its maker's figure")
    t = exact(temperature_c)
    if t <= points[0].to_c:
        return _found(points[0].alpha_per_k, points[0].to_c, points[:1])
    for low, high in pairwise(points):
        if t <= high.to_c:
            share = (t - low.to_c) / (high.to_c - low.to_c)
            alpha = low.alpha_per_k + share * (high.alpha_per_k - low.alpha_per_k)
            return _found(alpha, t, (low, high))
    return _found(points[-1].alpha_per_k, points[-1].to_c, points[-1:])


def constant_expansion(
    *, alpha_per_k: float | int | Fraction, source: Source
) -> tuple[MeanPoint, ...]:
    """A maker's single figure as points: the same at every temperature.

    Parameters
    ----------
    alpha_per_k : float, int or Fraction
        the figure [1/K]
    source : Source
        who says so [-]

    >>> one = constant_expansion(alpha_per_k=13e-6, source=METALS_HANDBOOK)
    >>> float(mean_expansion(points=one, temperature_c=400).alpha_per_k)
    1.3e-05
    """
    return (MeanPoint(ROOM_TABLE_TO_C, exact(alpha_per_k), source),)


def _found(alpha: Fraction, to_c: Fraction | int, used: Sequence[MeanPoint]) -> MeanExpansion:
    cited = list(dict.fromkeys(point.source.cited for point in used))
    return MeanExpansion(
        alpha, f"mean from 20 to {trimmed(decimal_text(exact(to_c), 2))} °C", "; ".join(cited)
    )
