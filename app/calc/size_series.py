"""Sizes of seat rings as they are listed for sale: oversizes of a base size, and blanks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.calc.errors import ImpossibleError, OrderError
from app.calc.sources import OVERSIZE_SERIES
from app.calc.units import Length

INCH_STEPS = tuple(Length.of(step) for step in (".005", ".010", ".020", ".030"))
MM_STEPS = tuple(Length.of(step, "mm") for step in ("0.25", "0.30", "0.50", "0.60"))
BLANK_STEPS = (Length.of("1/64"), Length.of("1/32"))
MOST_SIZES = 200
SERIES_SOURCE = OVERSIZE_SERIES


@dataclass(frozen=True, slots=True)
class NominalSize:
    """An outside diameter in print, and how far it stands over the base size."""

    od: Length
    over: Length


def oversizes(*, base: Length, steps: Iterable[Length]) -> tuple[NominalSize, ...]:
    """A base size with its oversizes, by rising OD.

    OD = base + step, for each step and for 0

    Parameters
    ----------
    base : Length
        standard outside diameter in print [nm]
    steps : iterable of Length
        oversizes on diameter, each above 0; one given twice counts once [nm]

    Returns
    -------
    tuple of NominalSize
        exact; the base first. Nominal sizes, never measured ones

    Raises
    ------
    ImpossibleError
        field ``steps`` when one is not above 0.

    >>> [size.od.inches(3) for size in oversizes(base=Length.of("1.625"), steps=INCH_STEPS)]
    ['1.625', '1.630', '1.635', '1.645', '1.655']
    """
    wanted = sorted(set(steps))
    if wanted and wanted[0].nm <= 0:
        raise ImpossibleError("steps", "an oversize must be above 0")
    return (
        NominalSize(base, Length(0)),
        *(NominalSize(base + step, step) for step in wanted),
    )


def blanks(*, least: Length, most: Length, step: Length) -> tuple[NominalSize, ...]:
    """Blank rings over a range of OD, by whole steps from its least.

    OD = least + n·step ≤ most, n = 0, 1, 2 …

    Parameters
    ----------
    least : Length
        smallest outside diameter in print [nm]
    most : Length
        largest that may be reached [nm]
    step : Length
        from one to the next, above 0; common are 1/64 and 1/32 in [nm]

    Returns
    -------
    tuple of NominalSize
        exact: 1/64 in is 396 875 nm

    Raises
    ------
    ImpossibleError
        field ``step`` when it is not above 0, or gives more sizes than one series has.
    OrderError
        field ``most`` when it lies below the least.

    >>> found = blanks(least=Length.of("1 1/2"), most=Length.of("1.56"), step=Length.of("1/64"))
    >>> [size.od.inches(4) for size in found]
    ['1.5000', '1.5156', '1.5312', '1.5469']
    """
    if step.nm <= 0:
        raise ImpossibleError("step", "must be above 0")
    if most < least:
        raise OrderError("most", "lies below the size it starts from")
    count = (most.nm - least.nm) // step.nm + 1
    if count > MOST_SIZES:
        raise ImpossibleError("step", f"gives {count} sizes; one series has at most {MOST_SIZES}")
    return tuple(NominalSize(least + step * n, step * n) for n in range(count))
