"""How stiff and how strong heads and rings are, each figure with its source.

A family without a named source has none: its maker's figures are asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

from app.calc.errors import MissingError
from app.calc.materials import RING_MATERIALS, HeadMaterial
from app.calc.press_fit import Elastic
from app.calc.sources import (
    ELASTIC_TABLE,
    HEAD_ALLOY_HEAT,
    METALS_HANDBOOK,
    POISSON_TABLE,
    RING_STRENGTH_HABIT,
    TOOL_STEEL_TABLE,
    Source,
)


@dataclass(frozen=True, slots=True)
class Stiffness:
    """Modulus and Poisson's ratio; `words` say which grade or which middle of a range."""

    elastic: Elastic
    words: str
    source: Source
    nu_source: Source = POISSON_TABLE


class StrengthKind(Enum):
    """What a strength is the limit of."""

    YIELD = "yield"
    TENSILE = "tensile"
    COMPRESSIVE_YIELD = "yield in compression"


@dataclass(frozen=True, slots=True)
class Strength:
    """Least and most of a family in MPa; alike where one figure is tabled."""

    low_mpa: float
    high_mpa: float
    kind: StrengthKind
    words: str
    source: Source


def _stiff(e_gpa: float, nu: float, words: str = "", source: Source = ELASTIC_TABLE) -> Stiffness:
    return Stiffness(Elastic(e_gpa, nu), words, source)


GREY_IRON = _stiff(101.5, 0.26, "middle of 90 to 113 GPa, grade G3000")
DUCTILE_IRON = _stiff(168, 0.31, "grade 80-55-06")

HEAD_STIFFNESS: dict[HeadMaterial, Stiffness] = {
    HeadMaterial.GREY_IRON: GREY_IRON,
    HeadMaterial.DUCTILE_IRON: DUCTILE_IRON,
    HeadMaterial.ALUMINIUM: _stiff(72.4, 0.33, "alloy 356.0"),
}

RING_STIFFNESS: dict[str, Stiffness] = {
    "grey_iron": GREY_IRON,
    "ductile_iron": DUCTILE_IRON,
    "chromium_steel": _stiff(200, 0.30, "440A"),
    "tool_steel": _stiff(207, 0.30, "as low-alloy steel"),
    "hot_work_steel": Stiffness(Elastic(215, 0.285), "H13", TOOL_STEEL_TABLE, TOOL_STEEL_TABLE),
    "stainless": _stiff(193, 0.30, "304"),
    "bronze": _stiff(100, 0.34, "bearing bronze C93200", METALS_HANDBOOK),
    "beryllium_copper": _stiff(128, 0.30, "C17200"),
}

# Grey iron has no yield point worth the name: it cracks at its tensile strength.
HEAD_STRENGTH: dict[HeadMaterial, Strength] = {
    HeadMaterial.GREY_IRON: Strength(
        207, 276, StrengthKind.TENSILE, "least of grades G3000 and G4000", ELASTIC_TABLE
    ),
    HeadMaterial.DUCTILE_IRON: Strength(
        276, 379, StrengthKind.YIELD, "least of grades 60-40-18 and 80-55-06", ELASTIC_TABLE
    ),
    HeadMaterial.ALUMINIUM: Strength(
        124, 164, StrengthKind.YIELD, "alloy 356.0, as cast and T6", ELASTIC_TABLE
    ),
}
# A356 with copper, T6, cut from head decks: what heat leaves of its yield strength.
ALUMINIUM_HOT_YIELD_MPA: tuple[tuple[int, int], ...] = (
    (20, 269),
    (150, 235),
    (200, 163),
    (250, 84),
    (300, 39),
)
ALUMINIUM_HOT_SOURCE = HEAD_ALLOY_HEAT

RING_STRENGTH: dict[str, Strength] = {
    key: Strength(low, high, StrengthKind.COMPRESSIVE_YIELD, "", source)
    for key, low, high, source in (
        ("grey_iron", 350, 600, RING_STRENGTH_HABIT),
        ("ductile_iron", 450, 700, RING_STRENGTH_HABIT),
        ("chromium_steel", 800, 1100, RING_STRENGTH_HABIT),
        ("tool_steel", 1000, 1500, RING_STRENGTH_HABIT),
        ("hot_work_steel", 1000, 1380, TOOL_STEEL_TABLE),
        ("cobalt", 550, 900, RING_STRENGTH_HABIT),
        ("nickel_iron", 200, 280, RING_STRENGTH_HABIT),
        ("bronze", 250, 450, RING_STRENGTH_HABIT),
        ("beryllium_copper", 965, 1205, ELASTIC_TABLE),
    )
}


def ring_stiffness(*, ring_material: str) -> Stiffness:
    """Modulus and ratio of a ring's family.

    Parameters
    ----------
    ring_material : str
        key of a family of `materials.RING_MATERIALS` [-]

    Raises
    ------
    MissingError
        field ``ring.e_gpa``, for a family without a sourced figure.

    >>> ring_stiffness(ring_material="chromium_steel").elastic
    Elastic(e_gpa=200, nu=0.3)
    """
    found = RING_STIFFNESS.get(ring_material)
    if found is None:
        family = RING_MATERIALS.get(ring_material)
        words = family.words if family else "this family"
        raise MissingError("ring.e_gpa", f"is not known for {words}: its maker's figure is needed")
    return found


def aluminium_yield_mpa(*, temperature_c: float) -> float:
    """What a conditioned cast head alloy yields at, hot; straight between the tabled figures.

    Parameters
    ----------
    temperature_c : float
        of the head at the bore, taken as 20 below and as 300 above [°C]

    >>> aluminium_yield_mpa(temperature_c=225)
    123.5
    """
    points = ALUMINIUM_HOT_YIELD_MPA
    if temperature_c <= points[0][0]:
        return float(points[0][1])
    for (low_c, low), (high_c, high) in pairwise(points):
        if temperature_c <= high_c:
            return low + (temperature_c - low_c) / (high_c - low_c) * (high - low)
    return float(points[-1][1])
