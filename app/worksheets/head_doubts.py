"""Readings along a head that stand far from the others of their kind: a slip, or is it so?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass

from app.calc.units import Length
from app.workflow.doubtful import LEAST_ALIKE, Doubt, readings_in_doubt
from app.workflow.kept import Kept
from app.workflow.kinds import Quantity
from app.workflow.shop_rules import ShopRules
from app.worksheets.head_rows import PortRows
from app.worksheets.readings import Readings


@dataclass(frozen=True, slots=True)
class HeadDoubt:
    """A doubtful reading, and what it was held against."""

    label: str
    others: str
    doubt: Doubt
    told: str = ""  # instead of how far it stands from the others


def stem_doubts(ports: Iterable[PortRows], rules: ShopRules) -> tuple[HeadDoubt, ...]:
    """Stem heights, intakes and exhausts apart."""
    return _doubts(
        ports,
        lambda rows: rows.stems,
        Quantity.STEM_HEIGHT,
        lambda rows: None,
        rules.length("stems_apart"),
    )


def guide_doubts(ports: Iterable[PortRows], rules: ShopRules) -> tuple[HeadDoubt, ...]:
    """Guide bores, intakes and exhausts apart, serviced ones apart from those that were left."""
    return _doubts(
        ports,
        lambda rows: rows.guides,
        Quantity.GUIDE_BORE,
        lambda rows: rows.guide_work.decision if rows.guide_work else None,
        rules.length("guides_apart"),
    )


def _doubts(
    ports: Iterable[PortRows],
    readings: Callable[[PortRows], Readings | None],
    quantity: Quantity,
    sort: Callable[[PortRows], Hashable],
    apart: Length,
) -> tuple[HeadDoubt, ...]:
    groups: dict[Hashable, list[Kept]] = defaultdict(list)
    where: dict[int, PortRows] = {}
    for rows in ports:
        read = readings(rows)
        for kept in read.of(quantity) if read else ():
            groups[rows.port.kind, sort(rows)].append(kept)
            where[kept.id] = rows
    return tuple(
        HeadDoubt(
            where[doubt.reading_id].label,
            f"the other {where[doubt.reading_id].port.kind.screen}s",
            doubt,
        )
        for group in groups.values()
        if len(group) >= LEAST_ALIKE
        for doubt in readings_in_doubt(sorted(group, key=lambda kept: kept.id), apart)
    )
