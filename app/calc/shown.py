"""Figures of a working as text, so that what is shown adds up to what is shown below it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from app.calc.units import NM_PER_UNIT, digits_text, nearest_whole

MORE_PLACES = 2


@dataclass(frozen=True, slots=True)
class ShownSum:
    """Each part's figure and the total's, all with the same number of decimals."""

    parts: tuple[str, ...]
    total: str
    places: int


def shown_nm(
    nm: Fraction | int, unit: str = "in", *, inch_places: int = 5, mm_places: int = 4
) -> str:
    """A length that is not yet rounded, as shop text.

    Parameters
    ----------
    nm : Fraction or int
        the length [nm]
    unit : str
        ``in`` or ``mm`` [-]
    inch_places : int
        decimals in inches [-]
    mm_places : int
        decimals in millimetres [-]

    >>> shown_nm(Fraction(25400, 3)), shown_nm(41_305_480, "mm")
    ('.00033', '41.3055')
    """
    places = inch_places if unit == "in" else mm_places
    return _text(_count(nm, unit, places), unit, places)


def shown_apart(
    one: Fraction | int,
    other: Fraction | int,
    unit: str = "in",
    *,
    inch_places: int = 5,
    mm_places: int = 4,
) -> str:
    """How far apart two lengths are as they are shown, so that the three figures subtract.

    Parameters
    ----------
    one, other : Fraction or int
        the lengths [nm]
    unit : str
        ``in`` or ``mm`` [-]
    inch_places : int
        decimals in inches [-]
    mm_places : int
        decimals in millimetres [-]

    >>> one, other = 41_203_271, 41_202_712
    >>> shown_nm(one), shown_nm(other), shown_nm(one - other), shown_apart(one, other)
    ('1.62218', '1.62215', '.00002', '.00003')
    """
    places = inch_places if unit == "in" else mm_places
    return _text(abs(_count(one, unit, places) - _count(other, unit, places)), unit, places)


def shown_sum(
    *,
    parts: Sequence[tuple[int, Fraction | int]],
    unit: str = "in",
    inch_places: int = 5,
    mm_places: int = 4,
    limits: Sequence[Fraction | int] = (),
) -> ShownSum:
    """Show parts and their total with as few decimals as still add up.

    Rounding each line by itself can print 1.62612 − 1.62215 = .00398. Here the decimals grow, by
    two at most, until the printed lines give the printed total and the total stands on its own
    side of every limit; thirds may never do so: there the printed total is that of the lines.

    Parameters
    ----------
    parts : sequence of (sign, Fraction or int)
        +1 for what is added, −1 for what is taken away, and the figure that stands there [nm]
    unit : str
        ``in`` or ``mm`` [-]
    inch_places : int
        least decimals in inches [-]
    mm_places : int
        least decimals in millimetres [-]
    limits : sequence of Fraction or int
        limits that the total is judged by [nm]

    >>> shown_sum(parts=[(1, 41_305_480), (-1, 41_203_880)])
    ShownSum(parts=('1.62620', '1.62220'), total='.00400', places=5)
    >>> shown_sum(parts=[(1, 41_303_575), (-1, 41_202_610)])
    ShownSum(parts=('1.626125', '1.622150'), total='.003975', places=6)
    """
    least = inch_places if unit == "in" else mm_places
    total = sum(sign * value for sign, value in parts)
    for places in range(least, least + MORE_PLACES + 1):
        counts = [_count(value, unit, places) for _, value in parts]
        lines = sum(sign * count for (sign, _), count in zip(parts, counts, strict=True))
        if lines == _count(total, unit, places) and all(
            _side(Fraction(lines * NM_PER_UNIT[unit], 10**places), limit) == _side(total, limit)
            for limit in limits
        ):
            break
    return ShownSum(
        parts=tuple(_text(count, unit, places) for count in counts),
        total=_text(lines, unit, places),
        places=places,
    )


def _count(nm: Fraction | int, unit: str, places: int) -> int:
    """In units of the last digit shown."""
    return nearest_whole(nm.numerator * 10**places, nm.denominator * NM_PER_UNIT[unit])


def _text(count: int, unit: str, places: int) -> str:
    text = digits_text(count, places)
    if unit == "in" and text.lstrip("-").startswith("0."):
        return text.replace("0.", ".", 1)
    return text


def _side(value: Fraction | int, limit: Fraction | int) -> int:
    return (value > limit) - (value < limit)
