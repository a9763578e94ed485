"""Setting an adjustable cutter: the size to set, what the fixture reads, the bore that it gives."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from app.calc.errors import ImpossibleError, MissingError
from app.calc.rules import Interference
from app.calc.shown import shown_nm, shown_sum
from app.calc.sources import GEOMETRY, GIVEN, MEASURED
from app.calc.trace import Calculation, Result, Step
from app.calc.units import NM_PER_UNIT, Length

CALCULATION = Calculation("setting", 1)


class FixtureMode(Enum):
    """What a setting fixture reads."""

    DIAMETER = "diameter"
    RADIUS = "radius"
    ACROSS_PILOT = "across_pilot"

    @property
    def words(self) -> str:
        """As the page says it."""
        return {
            FixtureMode.DIAMETER: "diameter",
            FixtureMode.RADIUS: "radius",
            FixtureMode.ACROSS_PILOT: "across the pilot",
        }[self]

    @property
    def formula(self) -> str:
        """The reading that belongs to a set size."""
        return {
            FixtureMode.DIAMETER: "D_set",
            FixtureMode.RADIUS: "D_set/2",
            FixtureMode.ACROSS_PILOT: "(D_set + d)/2",
        }[self]


@dataclass(frozen=True, slots=True)
class ModeReading:
    """What a fixture in one mode reads of the size that is set, exact."""

    mode: FixtureMode
    reading_nm: Fraction

    def shown(self, unit: str) -> str:
        """As many digits as it has: halves of ten-thousandths stay exact."""
        return _trimmed(self.reading_nm, unit, inch_places=6, mm_places=5)


@dataclass(frozen=True, kw_only=True)
class SetSize(Result):
    """What to set, and the bore to expect from it."""

    set_size: Length
    mode: FixtureMode
    reading: Length
    expected_bore: Length
    bore_per_division: Length
    by_mode: tuple[ModeReading, ...]


def size_setting(
    *,
    target_bore: Length,
    overcut: Length,
    mode: FixtureMode,
    pilot: Length | None,
    resolution: Length,
    unit: str = "in",
) -> SetSize:
    """Size and fixture reading for a target bore.

    D_set = B − k; reading D_set, D_set/2 or (D_set + d)/2, down to a whole number of divisions,
    so that an uncertain tenth leaves the bore small: a small bore can be cut again

    Parameters
    ----------
    target_bore : Length
        B, the bore wanted [nm]
    overcut : Length
        k, bore measured minus size set, of this tip in this material; may be negative [nm]
    mode : FixtureMode
        what the fixture reads [-]
    pilot : Length
        d, the diameter that the tip is measured across, at the tip's height; needed for a fixture
        that reads across the pilot, else None or for information [nm]
    resolution : Length
        one division of the fixture's own reading, above 0 [nm]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    SetSize
        ``set_size`` exact; ``expected_bore`` is what the rounded reading cuts, overcut included;
        ``by_mode`` holds what that reading is in every mode, across the pilot only with a pilot

    Raises
    ------
    MissingError
        field ``pilot`` when the fixture reads across it.
    ImpossibleError
        field ``resolution`` when it is not above 0; ``overcut`` when nothing is left to set.

    >>> across = size_setting(target_bore=Length.of("1.62215"), overcut=Length.of(".0003"),
    ...     mode=FixtureMode.ACROSS_PILOT, pilot=Length.of(".3432"), resolution=Length.of(".0001"))
    >>> across.set_size.inches(5), across.reading.inches(4), across.expected_bore.inches(4)
    ('1.62185', '.9825', '1.6221')
    """
    if mode is FixtureMode.ACROSS_PILOT and pilot is None:
        raise MissingError("pilot", "is needed: the fixture reads across it")
    if resolution.nm <= 0:
        raise ImpossibleError("resolution", "must be above 0")
    set_size = target_bore - overcut
    if set_size.nm <= 0:
        raise ImpossibleError("overcut", "leaves nothing to set")
    exact_reading = _reading_nm(set_size, mode, pilot)
    divisions = exact_reading // resolution.nm
    reading = Length(divisions * resolution.nm)
    per_division = division_effect(mode=mode, resolution=resolution)
    expected = bore_from_reading(reading=reading, mode=mode, pilot=pilot, overcut=overcut)
    achieved = expected - overcut
    by_mode = tuple(
        ModeReading(one, _reading_nm(achieved, one, pilot))
        for one in FixtureMode
        if one is not FixtureMode.ACROSS_PILOT or pilot is not None
    )
    size = shown_sum(parts=[(1, target_bore.nm), (-1, overcut.nm)], unit=unit)
    cut = shown_sum(
        parts=[(1, achieved.nm), (1, overcut.nm)],
        unit=unit,
        inch_places=size.places,
        mm_places=size.places,
    )
    return SetSize(
        calculation=CALCULATION,
        inputs={
            "target_bore": target_bore,
            "overcut": overcut,
            "mode": mode,
            "pilot": pilot,
            "resolution": resolution,
        },
        set_size=set_size,
        mode=mode,
        reading=reading,
        expected_bore=expected,
        bore_per_division=per_division,
        by_mode=by_mode,
        working=(
            Step("B", "bore wanted", size.parts[0], unit, GIVEN),
            Step("k", "− overcut", size.parts[1], unit, GIVEN),
            Step("D_set", "size to set", size.total, unit, "B − k", is_total=True),
            *_reading_steps(mode, size.total, pilot, unit),
            Step(
                "reading",
                f"down to whole divisions of {_trimmed(resolution.nm, unit)}",
                _trimmed(reading.nm, unit),
                unit,
                "toward the smaller bore",
                is_total=True,
            ),
            Step("D", "size at that reading", cut.parts[0], unit, GEOMETRY),
            Step(
                "",
                "bore to expect from that reading",
                cut.total,
                unit,
                "D + k",
                is_total=True,
            ),
            Step(
                "",
                "one division moves the bore by",
                _trimmed(per_division.nm, unit),
                unit,
                GEOMETRY,
            ),
        ),
    )


def bore_from_reading(
    *, reading: Length, mode: FixtureMode, pilot: Length | None, overcut: Length
) -> Length:
    """The bore that an achieved fixture reading will give.

    B = R + k, 2·R + k, or 2·R − d + k across the pilot

    Parameters
    ----------
    reading : Length
        R, as read after locking the tool [nm]
    mode : FixtureMode
        what the fixture reads [-]
    pilot : Length
        d, the diameter measured across, at the tip's height; None unless the mode needs it [nm]
    overcut : Length
        k, bore measured minus size set [nm]

    Returns
    -------
    Length
        exact

    Raises
    ------
    MissingError
        field ``pilot`` when the fixture reads across it.

    >>> bore_from_reading(reading=Length.of(".9826"), mode=FixtureMode.ACROSS_PILOT,
    ...                   pilot=Length.of(".3432"), overcut=Length.of(".0003")).inches(4)
    '1.6223'
    """
    if mode is FixtureMode.DIAMETER:
        return reading + overcut
    if mode is FixtureMode.RADIUS:
        return reading * 2 + overcut
    if pilot is None:
        raise MissingError("pilot", "is needed: the fixture reads across it")
    return reading * 2 - pilot + overcut


def division_effect(*, mode: FixtureMode, resolution: Length) -> Length:
    """How far one division of the fixture moves the bore.

    1 × division for a fixture that reads diameter, 2 × for the others

    Parameters
    ----------
    mode : FixtureMode
        what the fixture reads [-]
    resolution : Length
        one division of its own reading [nm]

    >>> division_effect(mode=FixtureMode.RADIUS, resolution=Length.of(".0005")).inches(4)
    '.0010'
    """
    return resolution if mode is FixtureMode.DIAMETER else resolution * 2


def suits(*, expected_bore: Length, ring_od: Length, window: Interference) -> bool:
    """Whether a setting's bore keeps a position inside its window; otherwise it refuses it.

    OD − most ≤ bore ≤ OD − least, ends included

    Parameters
    ----------
    expected_bore : Length
        the bore that the achieved reading gives [nm]
    ring_od : Length
        mean OD of the position's ring at 20 °C [nm]
    window : Interference
        the position's rule [nm]

    >>> from app.calc.rules import interference
    >>> iron = interference(least=Length.of(".003"), most=Length.of(".005"))
    >>> [suits(expected_bore=Length.of(bore), ring_od=Length.of("1.6261"), window=iron)
    ...  for bore in ("1.6222", "1.6233")]
    [True, False]
    """
    return window.least <= ring_od - expected_bore <= window.most


def _reading_nm(set_size: Length, mode: FixtureMode, pilot: Length | None) -> Fraction:
    if mode is FixtureMode.DIAMETER:
        return Fraction(set_size.nm)
    if mode is FixtureMode.RADIUS or pilot is None:
        return Fraction(set_size.nm, 2)
    return Fraction(set_size.nm + pilot.nm, 2)


def _reading_steps(
    mode: FixtureMode, size_text: str, pilot: Length | None, unit: str
) -> tuple[Step, ...]:
    """The fixture's exact reading, worked from the size as it is shown one line above."""
    places = len(size_text.partition(".")[2])
    text = size_text
    steps: tuple[Step, ...] = ()
    if mode is not FixtureMode.DIAMETER:
        shown_pilot = "0"
        if mode is FixtureMode.ACROSS_PILOT and pilot is not None:
            shown_pilot = shown_nm(pilot.nm, unit, inch_places=places, mm_places=places)
            steps = (Step("d", "pilot at the tip's height", shown_pilot, unit, MEASURED),)
        # Half of an odd last digit needs one digit more, and then comes out exactly.
        half = (Fraction(size_text) + Fraction(shown_pilot)) / 2 * NM_PER_UNIT[unit]
        text = shown_nm(half, unit, inch_places=places + 1, mm_places=places + 1)
    words = f"fixture reads {mode.words}"
    return (*steps, Step(mode.formula, words, text, unit, GEOMETRY))


def _trimmed(nm: Fraction | int, unit: str, *, inch_places: int = 8, mm_places: int = 6) -> str:
    """No more digits than a figure has, but never fewer than a reading."""
    least = 4 if unit == "in" else 3
    text = shown_nm(nm, unit, inch_places=inch_places, mm_places=mm_places)
    whole, _, digits = text.partition(".")
    return f"{whole}.{digits.rstrip('0').ljust(least, '0')}"
