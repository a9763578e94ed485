"""The box label beside the measured ring: stored, compared and questioned, never worked from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from app.calc.errors import MissingError
from app.calc.shown import shown_nm, shown_sum
from app.calc.sources import FIT_HABIT, MEASURED
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, spread

CALCULATION = Calculation("label", 1)

BUILT_IN_LEAST = Length.of(".002")
BUILT_IN_MOST = Length.of(".009")


class LabelMeans(Enum):
    """What the size on a box stands for; three habits live side by side."""

    RING_OD = "ring_od"
    COUNTERBORE = "counterbore"
    UNRELATED = "unrelated"
    UNKNOWN = "unknown"


@dataclass(frozen=True, kw_only=True)
class LabelQuestion(Result):
    """Measured minus label for each ring, and whether the shop must be asked what it means."""

    differences: tuple[Length, ...]
    is_alike: bool
    asks: bool


def label_question(
    *,
    ring_ods_nm: Sequence[Fraction | int],
    label_od: Length,
    label_means: LabelMeans,
    alike_within: Length,
    unit: str = "in",
) -> LabelQuestion:
    """Whether the maker may have built the interference into these rings.

    d = OD − label; asked once when every d lies in +.002 … +.009 in, they are alike, and nobody
    has said that the label means something else than the ring's OD

    Parameters
    ----------
    ring_ods_nm : sequence of Fraction or int
        mean OD at 20 °C of each ring of the set, one or more [nm]
    label_od : Length
        size on the box [nm]
    label_means : LabelMeans
        what the shop says it stands for [-]
    alike_within : Length
        largest spread of the differences that still counts as alike [nm]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    LabelQuestion
        differences to the nearest nanometre, ties to even

    Raises
    ------
    MissingError
        field ``ring_od`` without a ring.

    >>> measured = [Length.of(od).nm for od in ("1.6291", "1.6290", "1.6292", "1.6291")]
    >>> label_question(ring_ods_nm=measured, label_od=Length.of("1.625"),
    ...                label_means=LabelMeans.UNKNOWN, alike_within=Length.of(".001")).asks
    True
    """
    if not ring_ods_nm:
        raise MissingError("ring_od", "needs at least one ring")
    differences = tuple(over_label(measured_nm=od, label=label_od) for od in ring_ods_nm)
    alike = spread(differences) <= alike_within
    open_question = label_means in (LabelMeans.UNKNOWN, LabelMeans.RING_OD)
    asks = alike and open_question and all(may_be_built_in(difference=d) for d in differences)
    mean = sum((Fraction(od) for od in ring_ods_nm), Fraction(0)) / len(ring_ods_nm)
    shown = shown_sum(parts=[(1, mean), (-1, label_od.nm)], unit=unit)
    return LabelQuestion(
        calculation=CALCULATION,
        inputs={
            "ring_ods_nm": tuple(ring_ods_nm),
            "label_od": label_od,
            "label_means": label_means,
            "alike_within": alike_within,
        },
        differences=differences,
        is_alike=alike,
        asks=asks,
        working=(
            Step(
                "D",
                "measured OD" if len(ring_ods_nm) == 1 else "measured OD, mean of the set",
                shown.parts[0],
                unit,
                MEASURED,
            ),
            Step("label", "size on the box", shown.parts[1], unit, "label, not worked from"),
            Step("D − label", _finding(asks), shown.total, unit, FIT_HABIT.cited, is_total=True),
            Step(
                "spread",
                "of these differences",
                shown_nm(spread(differences).nm, unit),
                unit,
                MEASURED,
            ),
        ),
    )


def over_label(*, measured_nm: Fraction | int, label: Length) -> Length:
    """How far a measured size lies over what is printed for it.

    d = measured − label

    Parameters
    ----------
    measured_nm : Fraction or int
        mean as measured, exact [nm]
    label : Length
        size on the box [nm]

    Returns
    -------
    Length
        nearest nanometre, ties to even; negative where it lies under the label

    >>> over_label(measured_nm=Length.of("1.62615").nm, label=Length.of("1.625")).inches(5)
    '.00115'
    """
    return Length.nearest(Fraction(measured_nm) - label.nm)


def may_be_built_in(*, difference: Length) -> bool:
    """Whether a ring stands over its label as rings with built-in interference do.

    +.002 in ≤ OD − label ≤ +.009 in

    Parameters
    ----------
    difference : Length
        measured OD minus label [nm]

    >>> may_be_built_in(difference=Length.of(".0041")), may_be_built_in(difference=Length.of("0"))
    (True, False)
    """
    return BUILT_IN_LEAST <= difference <= BUILT_IN_MOST


def _finding(asks: bool) -> str:
    return "difference: is the interference built in?" if asks else "difference"
