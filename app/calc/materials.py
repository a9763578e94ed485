"""Head and ring materials: expansion by kelvin, each with its source."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from app.calc.sources import (
    EXPANSION_TABLE,
    GAUGE_SCALE,
    SINTERED_ABSTRACT,
    TOOL_STEEL_TABLE,
    Source,
)

REFERENCE_C = 20  # ISO 1:2016
GAUGE_ALPHA_PER_K = Fraction(115, 10_000_000)
GAUGE_ALPHA_SOURCE = GAUGE_SCALE


class HeadMaterial(Enum):
    """What the casting is made of; decides the default rule and how it grows with heat."""

    GREY_IRON = "grey_iron"
    DUCTILE_IRON = "ductile_iron"
    ALUMINIUM = "aluminium"

    @property
    def words(self) -> str:
        """As printed: ``grey iron``."""
        return self.value.replace("_", " ")

    @property
    def is_iron(self) -> bool:
        """Grey and ductile iron share the default rules."""
        return self is not HeadMaterial.ALUMINIUM


@dataclass(frozen=True, slots=True)
class Expansion:
    """Mean linear expansion near room temperature, per kelvin, exact, with its source."""

    alpha_per_k: Fraction
    source: Source


@dataclass(frozen=True, slots=True)
class RingMaterial:
    """A ring's family; `expansion` is None where families differ too much for a default."""

    key: str
    words: str
    expansion: Expansion | None


def _per_k(tenths_of_ppm: int, source: Source) -> Expansion:
    return Expansion(Fraction(tenths_of_ppm, 10_000_000), source)


HEAD_EXPANSION: dict[HeadMaterial, Expansion] = {
    HeadMaterial.GREY_IRON: _per_k(114, EXPANSION_TABLE),
    HeadMaterial.DUCTILE_IRON: _per_k(112, EXPANSION_TABLE),
    HeadMaterial.ALUMINIUM: _per_k(215, EXPANSION_TABLE),  # 356 cast
}

# Sintered seat alloys range from about 10 to 16e-6: the ring's maker's figure is asked for,
# and without it a ring is taken as read rather than corrected by a guess.
RING_MATERIALS: dict[str, RingMaterial] = {
    material.key: material
    for material in (
        RingMaterial("grey_iron", "grey iron", _per_k(114, EXPANSION_TABLE)),
        RingMaterial("ductile_iron", "ductile iron", _per_k(112, EXPANSION_TABLE)),
        RingMaterial("chromium_steel", "martensitic chromium steel", _per_k(102, EXPANSION_TABLE)),
        RingMaterial("tool_steel", "tool steel, M2", _per_k(101, TOOL_STEEL_TABLE)),
        RingMaterial("hot_work_steel", "hot-work steel, H13", _per_k(104, TOOL_STEEL_TABLE)),
        RingMaterial("stainless", "austenitic stainless steel, 304", _per_k(172, EXPANSION_TABLE)),
        RingMaterial(
            "sintered_copper", "sintered, copper-infiltrated", _per_k(159, SINTERED_ABSTRACT)
        ),
        RingMaterial("sintered", "sintered, other", None),
        RingMaterial("cobalt", "cobalt alloy", None),
        RingMaterial("nickel_iron", "nickel iron", None),
        RingMaterial("bronze", "bearing bronze", _per_k(180, EXPANSION_TABLE)),
        RingMaterial("beryllium_copper", "beryllium copper", _per_k(167, EXPANSION_TABLE)),
        RingMaterial("unknown", "not known", None),
    )
}


def head_expansion(*, material: HeadMaterial) -> Expansion:
    """Mean expansion of a head material near room temperature.

    Parameters
    ----------
    material : HeadMaterial
        grey iron, ductile iron or aluminium [-]

    Returns
    -------
    Expansion
        per kelvin, exact, with its source

    Raises
    ------
    KeyError
        never for a member of `HeadMaterial`.

    >>> float(head_expansion(material=HeadMaterial.ALUMINIUM).alpha_per_k)
    2.15e-05
    """
    return HEAD_EXPANSION[material]
