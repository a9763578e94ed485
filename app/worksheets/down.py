"""How a pressed ring stands: the heights read round it, held against each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.calc.units import Length
from app.workflow.shop_rules import ShopRules
from app.worksheets.cells import Cell


@dataclass(frozen=True)
class Stand:
    """Heights that count, and how far they are apart; `most` is the shop's limit."""

    heights: tuple[Length, ...]
    apart: Length
    most: Length

    @property
    def is_askew(self) -> bool:
        """Further apart than the shop takes."""
        return self.apart > self.most


def stand_of(cells: Sequence[Cell], rules: ShopRules) -> Stand | None:
    """None while fewer than two heights are read."""
    heights = tuple(cell.current.value for cell in cells if cell.current is not None)
    if len(heights) < 2:
        return None
    return Stand(heights, max(heights) - min(heights), rules.length("down_spread"))
