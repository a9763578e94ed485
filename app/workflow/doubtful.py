"""Odd figures: asked about once; nothing is worked from a doubtful reading until it is settled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from app.calc.units import Length


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
    """Readings of one thing that lie `apart` or more from the middle of the others.

    Of two that differ, the later is the one asked about. A reading that was kept with a reason is
    not asked about again.
    """
    if len(group) < 2:
        return ()
    if len(group) == 2:
        suspects = [group[1]] if abs(group[1].value - group[0].value) >= apart else []
    else:
        suspects = [one for one in group if abs(one.value - _middle_of_others(group, one)) >= apart]
    settled = any(one.kept_because for one in group) and len(group) == 2
    return tuple(
        Doubt(
            reading_id=one.id,
            typed=one.typed,
            apart=abs(one.value - _middle_of_others(group, one)),
            others=tuple(other.typed for other in group if other is not one),
        )
        for one in suspects
        if not one.kept_because and not settled
    )


def _middle_of_others(group: Sequence[Read], one: Read) -> Length:
    others = sorted(other.value for other in group if other is not one)
    low, high = others[(len(others) - 1) // 2], others[len(others) // 2]
    return Length.nearest((low.nm + high.nm) // 2)
