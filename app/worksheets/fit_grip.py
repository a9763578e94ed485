"""A ring in its bore as far as it is known, and what its materials and the shop's cap say of it."""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.expansion import ScaledCurve, ring_curve
from app.calc.hot_expansion import MeanExpansion, mean_expansion
from app.calc.materials import RING_MATERIALS
from app.calc.units import Length
from app.workflow.kinds import Unit
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Kind, Material
from app.worksheets.materials import MaterialFigures


@dataclass(frozen=True)
class Grip:
    """A ring in its bore as far as it is known; alike grips have one fit."""

    unit: Unit
    material: Material
    kind: Kind
    interference: Length
    told: str  # where the interference comes from
    is_measured: bool
    ring_od: Length
    ring_id: Length | None
    ring_height: Length | None
    ring: MaterialFigures
    head: MaterialFigures
    others_in: bool
    ring_set_id: int


def ring_shrink(ring: MaterialFigures) -> ScaledCurve | None:
    """The curve that it shrinks by in the cold; None while its expansion is not known."""
    alpha = ring.alpha_per_k
    if alpha is None:
        return None
    of_family = RING_MATERIALS[ring.family].expansion
    is_familys = of_family is not None and of_family.alpha_per_k == alpha
    return ring_curve(ring_material=ring.family, alpha_per_k=None if is_familys else alpha)


def cap_c(grip: Grip, rules: ShopRules) -> float:
    """The hottest head that is printed as a figure to follow."""
    return rules.number(cap_key(grip))


def cap_key(grip: Grip) -> str:
    """The shop rule of that cap."""
    return "head_c_cap" if grip.material is Material.ALUMINIUM else "head_c_cap_iron"


def head_to_cap(grip: Grip, rules: ShopRules) -> MeanExpansion:
    """How the head grows on its way to the cap."""
    return mean_expansion(points=grip.head.points, temperature_c=cap_c(grip, rules))
