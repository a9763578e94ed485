"""The temperatures that a fit is looked at in: the assumed ones, and a shop's own over them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.calc.running_fit import (
    ALUMINIUM_EXHAUST,
    ALUMINIUM_INTAKE,
    IRON_EXHAUST,
    IRON_INTAKE,
    HeatCase,
)
from app.calc.sources import HEAT_CASES
from app.workflow.kinds import Said
from app.workflow.words import Kind, Material

LEAST_C, MOST_C = -60, 500
# Beyond these a case is possible, and odd.
HOTTER_HEAD_K = 20
HOT_ALUMINIUM_C, HOT_IRON_C = 300, 400


class Metal(Said):
    """What a head is made of, as far as its temperatures go."""

    IRON = "iron", "iron"
    ALUMINIUM = "aluminium"

    @classmethod
    def of(cls, material: Material) -> Metal:
        """Grey and ductile iron run alike."""
        return cls.ALUMINIUM if material is Material.ALUMINIUM else cls.IRON

    @property
    def is_iron(self) -> bool:
        """As it is stored."""
        return self is Metal.IRON


@dataclass(frozen=True, slots=True)
class HeldCase:
    """One case as it holds now; `row_id` names the shop's newest version of it."""

    key: str
    name: str
    ring_c: int
    head_c: int
    source: str
    row_id: int | None = None

    @property
    def is_default(self) -> bool:
        """The shop never touched it."""
        return self.row_id is None


_ASSUMED: Mapping[tuple[Metal, Kind], tuple[HeatCase, ...]] = {
    (Metal.IRON, Kind.EXHAUST): IRON_EXHAUST,
    (Metal.IRON, Kind.INTAKE): IRON_INTAKE,
    (Metal.ALUMINIUM, Kind.EXHAUST): ALUMINIUM_EXHAUST,
    (Metal.ALUMINIUM, Kind.INTAKE): ALUMINIUM_INTAKE,
}
DEFAULT_CASES: Mapping[tuple[Metal, Kind], tuple[HeldCase, ...]] = {
    where: tuple(
        HeldCase(one.key, one.name, one.ring_c, one.head_c, HEAT_CASES.cited) for one in cases
    )
    for where, cases in _ASSUMED.items()
}


def default_case(metal: Metal, kind: Kind, key: str) -> HeldCase | None:
    """The assumed case of this key; None for one that the shop added."""
    return next((one for one in DEFAULT_CASES[metal, kind] if one.key == key), None)


def odd_case(metal: Metal, ring_c: int, head_c: int) -> str:
    """What is possible and odd about a case, as a question; empty when nothing is."""
    if head_c - ring_c > HOTTER_HEAD_K:
        return (
            f"The head is hotter than the ring, by {head_c - ring_c} °C: heat comes from the "
            "ring's side. Is it so?"
        )
    hot = HOT_IRON_C if metal.is_iron else HOT_ALUMINIUM_C
    if head_c > hot:
        return f"{metal.screen.capitalize()} at {head_c} °C at the bore is unusual. Is it so?"
    return ""
