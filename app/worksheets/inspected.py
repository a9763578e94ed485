"""A deck's gaps and a head's hardness: from rows to results, and what they are held against."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.calc.flatness import Flatness, widest_gap
from app.calc.hardness import Hardness, mean_hardness
from app.models.head import Head
from app.workflow.inspected import (
    PART,
    FlatLimits,
    flat_words,
    hardness_words,
    lines_not_read,
    place_words,
)
from app.workflow.kinds import Quantity, Unit
from app.workflow.seats import size_words
from app.workflow.shop_rules import ShopRules
from app.worksheets.readings import Readings


@dataclass(frozen=True, slots=True)
class Deck:
    """What was read on a deck and what it says; empty words where nothing was read."""

    limits: FlatLimits
    whole: Flatness | None
    part: Flatness | None
    words: tuple[str, ...]
    gaps: tuple[str, ...]  # line by line, as a paper prints them
    not_read: str


def flat_limits(head: Head, rules: ShopRules) -> FlatLimits:
    """The engine maker's figures as typed for this head; else the shop's."""
    if head.flat_whole is not None:
        source = head.flat_source or ""
        return FlatLimits(
            head.flat_whole, head.flat_part, head.flat_part_over, source, source, is_makers=True
        )
    return FlatLimits(
        rules.length("flat_whole"),
        rules.length("flat_part"),
        rules.length("flat_part_over"),
        f"shop rule, {rules.source('flat_whole')}",
        f"shop rule, {rules.source('flat_part')}",
        is_makers=False,
    )


def deck_of(readings: Readings, limits: FlatLimits, unit: Unit) -> Deck:
    """The widest gap over whole lines and within parts, each against its own limit."""
    kept = {one.place: one.value for one in readings.of(Quantity.FLATNESS)}
    wholes = {place: gap for place, gap in kept.items() if not place.endswith(PART)}
    parts = {place.removesuffix(PART): gap for place, gap in kept.items() if place.endswith(PART)}
    words: list[str] = []
    whole = part = None
    if wholes:
        whole = widest_gap(gaps=wholes, limit=limits.whole, unit=unit.value)
        words.append(flat_words(whole, unit, "over the whole length", limits.source))
    if parts and limits.part is not None and limits.part_over is not None:
        part = widest_gap(gaps=parts, limit=limits.part, unit=unit.value)
        words.append(flat_words(part, unit, part_words(limits, unit), limits.part_source))
    elif parts:
        words.append("gaps within a part were read; the maker's limit for them is not typed")
    return Deck(
        limits=limits,
        whole=whole,
        part=part,
        words=tuple(words),
        gaps=(
            *(f"{place_words(place)} {size_words(gap, unit)}" for place, gap in wholes.items()),
            *(
                f"{place_words(place)}, within a part, {size_words(gap, unit)}"
                for place, gap in parts.items()
            ),
        ),
        not_read=lines_not_read(list(wholes)) if kept else "",
    )


def part_words(limits: FlatLimits, unit: Unit) -> str:
    """``in any 3 in``."""
    if limits.part_over is None:
        return "within a part"
    return f"in any {size_words(limits.part_over, unit).rstrip('0').rstrip('.')} {unit.value}"


def hardness_of(spots: Mapping[str, float]) -> Hardness | None:
    """Mean of the spots, or None when none was read."""
    return mean_hardness(spots=spots) if spots else None


def hardness_told(spots: Mapping[str, float], rules: ShopRules) -> str:
    """The mean in words against the shop's figures; empty when nothing was read."""
    found = hardness_of(spots)
    if found is None:
        return ""
    return hardness_words(
        found,
        new=(rules.number("hardness_new_least"), rules.number("hardness_new_most")),
        reject=rules.number("hardness_reject"),
        source=f"shop rule, {rules.source('hardness_reject')}",
    )
