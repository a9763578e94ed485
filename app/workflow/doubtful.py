"""Odd figures: asked about once; nothing is worked from a doubtful reading until it is settled."""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

from app.calc.units import Length, decimal_text
from app.workflow.kinds import Unit
from app.workflow.words import listed, sentence

# A deck this far out of flat, or a head this soft or hard, is asked about: a slip, or is it so?
FLATNESS_ODD = Length.of(".020")
SOFTEST_HB, HARDEST_HB = 40.0, 180.0


class Read(Protocol):
    """A reading, as far as doubt is concerned."""

    @property
    def id(self) -> int:
        """Its number."""

    @property
    def value(self) -> Length:
        """Its length."""

    @property
    def typed(self) -> str:
        """As it was typed."""

    @property
    def kept_because(self) -> str | None:
        """Why it was kept after someone looked again."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """A reading that stands apart from the others of its group."""

    reading_id: int
    typed: str
    apart: Length
    others: tuple[str, ...]


def readings_in_doubt(group: Sequence[Read], apart: Length) -> tuple[Doubt, ...]:
    """Readings of one thing that lie `apart` or more from where most of them are.

    Of two that differ, the later is the one asked about. A reading that was kept with a reason is
    not asked about again, and of an even split neither half once one of it was kept.
    """
    runs = _runs(group, apart)
    if len(runs) < 2:
        return ()
    # Most readings; of equal runs the one that was read first.
    trusted = min(runs, key=lambda run: (-len(run), min(group.index(one) for one in run)))
    trusted_ids = {one.id for one in trusted}
    even = [run for run in runs if len(run) == len(trusted)]
    settled = len(even) > 1 and any(one.kept_because for run in even for one in run)
    return tuple(
        Doubt(
            reading_id=one.id,
            typed=one.typed,
            apart=abs(one.value - _middle_of_others(group, one)),
            others=tuple(other.typed for other in group if other is not one),
        )
        for one in group
        if one.id not in trusted_ids and not one.kept_because and not settled
    )


def _runs(group: Sequence[Read], apart: Length) -> list[list[Read]]:
    """Readings that hang together: each nearer than `apart` to the next by size."""
    runs: list[list[Read]] = []
    for one in sorted(group, key=lambda each: each.value):
        if runs and one.value - runs[-1][-1].value < apart:
            runs[-1].append(one)
        else:
            runs.append([one])
    return runs


def _middle_of_others(group: Sequence[Read], one: Read) -> Length:
    others = sorted(other.value for other in group if other is not one)
    low, high = others[(len(others) - 1) // 2], others[len(others) // 2]
    return Length.nearest(Fraction(low.nm + high.nm, 2))


@dataclass(frozen=True, slots=True)
class Odd:
    """A figure that is possible and odd: asked once, confirmed with one touch.

    `key` is what the confirmation is stored under; `field` is the input that it stands beside.
    """

    key: str
    field: str
    told: str


# What a bore can be asked about before it is judged.
ODD_KEYS = frozenset({"odd_overcut", "odd_depth"})
LEAST_THOU_PER_INCH = Fraction(1, 2)
MOST_THOU_PER_INCH = Fraction(10)
OVERCUT_ODD = Length.of(".002")
DEPTH_ODD = Length.of(".010")
# Common practice: a sunk valve stands out by less, a guide reamed for an oversize stem by more.
STEMS_APART = Length.of(".060")
GUIDES_APART = Length.of(".010")
# Of two that differ neither is the odd one.
LEAST_ALIKE = 3


def odd_interference(interference: Length, ring_od: Length, field: str = "aim") -> Odd | None:
    """An interference outside half a thou to ten thou per inch of ring, ends included."""
    thou_per_inch = Fraction(1000 * interference.nm, ring_od.nm)
    if LEAST_THOU_PER_INCH <= thou_per_inch <= MOST_THOU_PER_INCH:
        return None
    return Odd(
        "odd_interference",
        field,
        f"{decimal_text(thou_per_inch, 2)} thou per inch of ring; most fits lie between .5 and 10. "
        "Is it meant so?",
    )


def odd_overcut(
    overcut: Length, unit: Unit, limit: Length = OVERCUT_ODD, field: str = "overcut"
) -> Odd | None:
    """A bore further from the size set than a cutter usually cuts: radius taken for diameter?"""
    if abs(overcut) <= limit:
        return None
    way = "over" if overcut.nm > 0 else "under"
    return Odd(
        "odd_overcut",
        field,
        f"{abs(overcut).shown(unit.value)} {way} the size set; a cutter rarely cuts more than "
        f"{limit.shown(unit.value)} off. Radius read as diameter, or is it so?",
    )


def odd_depth(
    depth: Length, ring_height: Length, unit: Unit, limit: Length = DEPTH_ODD, field: str = "depth"
) -> Odd | None:
    """A depth far from the height of the ring that is to stand in it."""
    apart = depth - ring_height
    if abs(apart) <= limit:
        return None
    stands = "below" if apart.nm > 0 else "proud of"
    return Odd(
        "odd_depth",
        field,
        f"The ring would stand {abs(apart).shown(unit.value)} {stands} the lip. Is it meant so?",
    )


def odd_label(difference: Length, unit: Unit, field: str = "label_means") -> Odd:
    """The question to ask when a whole set measures more than its box says, all alike."""
    return Odd(
        "built_in_interference",
        field,
        f"These rings measure {difference.shown(unit.value)} over the box, all alike. Is the "
        "interference built in, and the box the counterbore? The bore is worked from the readings "
        "either way.",
    )


def not_worked_yet(doubts: Sequence[Doubt], odd: Sequence[Odd], confirmed: Container[str]) -> str:
    """Why the next button stays grey, or nothing when every question is settled."""
    questions = [
        f"{doubt.typed} stands apart from {listed(doubt.others)}: strike it, or keep it with a "
        "reason"
        for doubt in doubts
    ]
    questions += [each.told for each in odd if each.key not in confirmed]
    return " ".join(sentence(each) for each in questions)
