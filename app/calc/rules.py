"""Interference rules: the default windows by material and ring size, and which one applies."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from app.calc.errors import MissingError, OrderError
from app.calc.materials import HeadMaterial
from app.calc.sources import FIT_HABIT
from app.calc.units import Length

SHALLOW_RING = Length.of(".190")


@dataclass(frozen=True, slots=True)
class Interference:
    """A window of ring OD minus bore, on diameter, with the aim inside it.

    The aim is an exact count of nanometres, since the middle of a window may lie on a half.
    """

    least: Length
    aim_nm: Fraction
    most: Length

    @property
    def aim(self) -> Length:
        """The aim to the nearest nanometre, ties to even."""
        return Length.nearest(self.aim_nm)


@dataclass(frozen=True, slots=True)
class Rule:
    """A window for one head material and one range of ring OD, and who says so."""

    material: HeadMaterial
    od_from: Length
    od_below: Length | None
    interference: Interference
    source: str

    def applies_to(self, material: HeadMaterial, ring_od: Length) -> bool:
        """The lower end of the range belongs to it, the upper end to the next."""
        fits = self.od_from <= ring_od and (self.od_below is None or ring_od < self.od_below)
        return material is self.material and fits

    @property
    def words(self) -> str:
        """What the rule is for: ``grey iron, ring OD 1.25 up to 2 in``."""
        low, below = self.od_from, self.od_below
        if below is None:
            size = f"from {low.inches(2)} in"
        elif low:
            size = f"{low.inches(2)} up to {below.inches(2)} in"
        else:
            size = f"under {below.inches(2)} in"
        return f"{self.material.words}, ring OD {size}"


@dataclass(frozen=True, slots=True)
class Adjustment:
    """One reason to shift a window, by how much at least and at most; never added to another."""

    key: str
    words: str
    low: Length
    high: Length
    source: str


def interference(*, least: Length, most: Length, aim: Length | None = None) -> Interference:
    """A window in order; without an aim, the middle.

    aim = (least + most)/2 when it is left out

    Parameters
    ----------
    least : Length
        smallest accepted interference, on diameter [nm]
    most : Length
        largest accepted interference, on diameter [nm]
    aim : Length
        what to work to, or None for the middle [nm]

    Returns
    -------
    Interference
        with the aim kept exact

    Raises
    ------
    OrderError
        field ``min`` when least > most, ``aim`` when it lies outside them.

    >>> interference(least=Length.of(".003"), most=Length.of(".005")).aim.inches(4)
    '.0040'
    """
    if least > most:
        raise OrderError("min", "is above the most; least, aim and most must rise")
    if aim is not None and not least <= aim <= most:
        raise OrderError("aim", "lies outside the least and the most")
    return Interference(
        least, Fraction(least.nm + most.nm, 2) if aim is None else Fraction(aim.nm), most
    )


def _rules(
    materials: Iterable[HeadMaterial], bands: Iterable[tuple[str, str | None, str, str, str]]
) -> tuple[Rule, ...]:
    listed = tuple(bands)
    return tuple(
        Rule(
            material,
            Length.of(od_from),
            None if od_below is None else Length.of(od_below),
            interference(least=Length.of(least), aim=Length.of(aim), most=Length.of(most)),
            FIT_HABIT.cited,
        )
        for material in materials
        for od_from, od_below, least, aim, most in listed
    )


# Published iron fits sit at 1.0 to 2.4 thou per inch of ring OD; no published aluminium table
# with both sizes could be opened. Hence "common practice", and every band can be edited.
DEFAULT_RULES: tuple[Rule, ...] = _rules(
    (HeadMaterial.GREY_IRON, HeadMaterial.DUCTILE_IRON),
    (
        ("0", "1.25", ".0020", ".0030", ".0040"),
        ("1.25", "2.0", ".0030", ".0040", ".0050"),
        ("2.0", None, ".0040", ".0050", ".0060"),
    ),
) + _rules(
    (HeadMaterial.ALUMINIUM,),
    (
        ("0", "1.25", ".0050", ".0055", ".0060"),
        ("1.25", "1.5", ".0060", ".0070", ".0080"),
        ("1.5", None, ".0070", ".0080", ".0090"),
    ),
)

ADJUSTMENTS: dict[str, Adjustment] = {
    one.key: one
    for one in (
        Adjustment(
            "exhaust", "exhaust position", Length.of(".0005"), Length.of(".0010"), FIT_HABIT.cited
        ),
        Adjustment(
            "dry_gas",
            "runs on dry gas (LPG, CNG, natural gas)",
            Length.of(".0005"),
            Length.of(".0010"),
            FIT_HABIT.cited,
        ),
        Adjustment(
            "used_head",
            "used head with many hours",
            Length.of(".0010"),
            Length.of(".0020"),
            FIT_HABIT.cited,
        ),
        Adjustment(
            "brittle_ring",
            "brittle ring in iron",
            Length.of("-.0010"),
            Length.of("-.0005"),
            FIT_HABIT.cited,
        ),
        Adjustment(
            "shallow_ring",
            "shallow ring, under .190 in high",
            Length.of(".0010"),
            Length.of(".0010"),
            FIT_HABIT.cited,
        ),
    )
}


def rule_for(
    *, material: HeadMaterial, ring_od: Length, rules: Iterable[Rule] = DEFAULT_RULES
) -> Rule:
    """The rule of this head material and ring size; of several, the last listed.

    od_from ≤ ring OD < od_below

    Parameters
    ----------
    material : HeadMaterial
        what the casting is made of [-]
    ring_od : Length
        the mean ring OD at 20 °C [nm]
    rules : iterable of Rule
        the shop's rules, oldest first; the defaults when left out [-]

    Returns
    -------
    Rule
        the newest rule that applies

    Raises
    ------
    MissingError
        field ``interference`` when the shop has no rule for this material and size.

    >>> rule_for(material=HeadMaterial.GREY_IRON, ring_od=Length.of("1.25")).words
    'grey iron, ring OD 1.25 up to 2.00 in'
    """
    found = [rule for rule in rules if rule.applies_to(material, ring_od)]
    if not found:
        raise MissingError(
            "interference",
            f"is needed: there is no rule for {material.words} at this ring OD",
        )
    return found[-1]


def suggested_adjustments(
    *,
    material: HeadMaterial,
    is_exhaust: bool,
    runs_on_dry_gas: bool,
    is_used_head: bool,
    is_brittle_ring: bool,
    ring_height: Length | None,
) -> tuple[Adjustment, ...]:
    """Reasons to shift the window that apply here; the shop picks one of them, or none.

    They are alternatives: summing them would pile up fits that nobody works to.

    Parameters
    ----------
    material : HeadMaterial
        what the casting is made of [-]
    is_exhaust : bool
        an exhaust position [-]
    runs_on_dry_gas : bool
        the engine runs on LPG, CNG or natural gas [-]
    is_used_head : bool
        a head with many hours [-]
    is_brittle_ring : bool
        a hard, brittle ring: only in iron is the fit lowered for it [-]
    ring_height : Length
        ring height, or None when not read; under .190 in counts as shallow [nm]

    >>> [one.key for one in suggested_adjustments(
    ...     material=HeadMaterial.GREY_IRON, is_exhaust=True, runs_on_dry_gas=False,
    ...     is_used_head=False, is_brittle_ring=False, ring_height=Length.of(".187"))]
    ['exhaust', 'shallow_ring']
    """
    applies = {
        "exhaust": is_exhaust,
        "dry_gas": runs_on_dry_gas,
        "used_head": is_used_head,
        "brittle_ring": is_brittle_ring and material.is_iron,
        "shallow_ring": ring_height is not None and ring_height < SHALLOW_RING,
    }
    return tuple(ADJUSTMENTS[key] for key, is_so in applies.items() if is_so)


def shifted(*, window: Interference, by: Length) -> Interference:
    """A window moved as a whole by one adjustment, never below a fit of nothing.

    least + by, aim + by, most + by

    Parameters
    ----------
    window : Interference
        the rule's window [nm]
    by : Length
        the adjustment chosen, negative for a lighter fit [nm]

    Raises
    ------
    OrderError
        field ``by`` when the least interference would fall below 0.

    >>> iron = interference(least=Length.of(".003"), most=Length.of(".005"))
    >>> shifted(window=iron, by=Length.of(".0005")).aim.inches(4)
    '.0045'
    """
    if (window.least + by).nm < 0:
        raise OrderError("by", "would leave no interference at the least")
    return Interference(window.least + by, window.aim_nm + by.nm, window.most + by)
