"""What is known of a head's metal or a ring's: the tables' figures, or those the shop added."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from sqlmodel import Session, col, func, select

from app.calc.hot_expansion import HEAD_POINTS, RING_POINTS, MeanPoint, constant_expansion
from app.calc.materials import (
    HEAD_EXPANSION,
    RING_MATERIALS,
    Expansion,
    HeadMaterial,
)
from app.calc.press_fit import Elastic
from app.calc.sources import Mark, Source
from app.calc.stiffness import (
    HEAD_STIFFNESS,
    HEAD_STRENGTH,
    RING_STIFFNESS,
    RING_STRENGTH,
    Stiffness,
    Strength,
    StrengthKind,
)
from app.calc.units import exact
from app.models.head import Head
from app.models.material import ShopMaterial
from app.models.ring import RingSet
from app.workflow.kinds import MaterialOf
from app.workflow.words import Material

NOT_KNOWN = "unknown"  # the ring family of which nothing is known
TYPED_WITH_THE_SET = Source(
    "typed-with-the-set", "maker's figure, typed with the ring set", Mark.ENTERED
)


@dataclass(frozen=True)
class MaterialFigures:
    """One material; what is None or empty is not known, and its maker's figure is asked for.

    `family` is a key: of `HeadMaterial` for a head, of `RING_MATERIALS` for a ring, there
    ``unknown`` where the shop named none. `within_per_k` is how far the true expansion may lie
    from the one given, where its source says so. `is_own` tells a material that the shop added.
    """

    name: str
    family: str
    points: tuple[MeanPoint, ...]
    expansion: Expansion | None
    within_per_k: Fraction | None
    stiffness: Stiffness | None
    strength: Strength | None
    is_own: bool

    @property
    def alpha_per_k(self) -> Fraction | None:
        """Mean expansion near room temperature."""
        return self.expansion.alpha_per_k if self.expansion else None


def head_figures(session: Session, head: Head) -> MaterialFigures | None:
    """A head's metal: its alloy where the shop added one, else its family; None while not known."""
    if head.material is None:
        return None
    own = newest_materials(session, [head.alloy]) if head.alloy else {}
    return figures_of_head(head.material, own.get(head.alloy or ""))


def ring_figures(session: Session, ring_set: RingSet) -> MaterialFigures:
    """A set's rings: the figure typed with the set wins over the shop's and the tables'."""
    return figures_of_ring(ring_set, materials_of_rings(session, [ring_set]))


def materials_of_rings(session: Session, ring_sets: Iterable[RingSet]) -> dict[str, ShopMaterial]:
    """The shop's own materials among those of some sets; no statement where there are none."""
    keys = {one.material for one in ring_sets if one.material not in RING_MATERIALS}
    return newest_materials(session, keys - {""})


def newest_materials(session: Session, keys: Iterable[str]) -> dict[str, ShopMaterial]:
    """What the shop last said of each of these materials; a retired one still has its figures."""
    wanted = sorted(set(keys))
    if not wanted:
        return {}
    newest = (
        select(func.max(col(ShopMaterial.id)))
        .where(col(ShopMaterial.key).in_(wanted))
        .group_by(col(ShopMaterial.key))
    )
    rows = session.exec(select(ShopMaterial).where(col(ShopMaterial.id).in_(newest)))
    return {row.key: row for row in rows}


def every_material(session: Session, of: MaterialOf | None = None) -> list[ShopMaterial]:
    """The newest version of each of the shop's own materials, as they were added."""
    newest = select(func.max(col(ShopMaterial.id))).group_by(col(ShopMaterial.key))
    query = select(ShopMaterial).where(col(ShopMaterial.id).in_(newest))
    if of is not None:
        query = query.where(ShopMaterial.material_of == of)
    first = select(func.min(col(ShopMaterial.id))).group_by(col(ShopMaterial.key))
    order = session.exec(
        select(ShopMaterial.key)
        .where(col(ShopMaterial.id).in_(first))
        .order_by(col(ShopMaterial.id))
    ).all()
    return sorted(session.exec(query), key=lambda row: order.index(row.key))


def figures_of_head(material: Material, alloy: ShopMaterial | None) -> MaterialFigures:
    """A family's figures, or an alloy's with its family's where the shop gave none."""
    family = head_family(HeadMaterial(material.value))
    if alloy is None or alloy.material_of is not MaterialOf.HEAD:
        return family
    own = own_figures(alloy, family.family)
    return replace(
        own,
        points=own.points or tuple(_points_as(family)),
        expansion=own.expansion or _expansion_as(family),
        stiffness=own.stiffness or _stiffness_as(family),
        strength=own.strength or _strength_as(family),
    )


def figures_of_ring(ring_set: RingSet, own: Mapping[str, ShopMaterial]) -> MaterialFigures:
    """A ring's figures; a missing one stays missing, since ring alloys differ too much to guess."""
    row = own.get(ring_set.material)
    if row is not None and row.material_of is MaterialOf.RING:
        found = own_figures(row, row.family if row.family in RING_MATERIALS else NOT_KNOWN)
    else:
        known = ring_set.material in RING_MATERIALS
        found = ring_family(ring_set.material if known else NOT_KNOWN)
        if not known and ring_set.material:
            found = replace(found, name=ring_set.material)
    typed = ring_set.alpha_per_k
    if typed is None or (found.alpha_per_k is not None and float(found.alpha_per_k) == typed):
        return found
    points = constant_expansion(alpha_per_k=typed, source=TYPED_WITH_THE_SET)
    return replace(
        found,
        points=points,
        expansion=Expansion(exact(typed), TYPED_WITH_THE_SET),
        within_per_k=None,
    )


def head_family(material: HeadMaterial) -> MaterialFigures:
    """What the tables say of grey iron, ductile iron or aluminium."""
    return MaterialFigures(
        name=material.words,
        family=material.value,
        points=HEAD_POINTS[material],
        expansion=HEAD_EXPANSION[material],
        within_per_k=None,
        stiffness=HEAD_STIFFNESS[material],
        strength=HEAD_STRENGTH[material],
        is_own=False,
    )


def ring_family(key: str) -> MaterialFigures:
    """What the tables say of a ring family."""
    family = RING_MATERIALS[key]
    return MaterialFigures(
        name=family.words,
        family=key,
        points=RING_POINTS[key],
        expansion=family.expansion,
        within_per_k=None,
        stiffness=RING_STIFFNESS.get(key),
        strength=RING_STRENGTH.get(key),
        is_own=False,
    )


def own_figures(row: ShopMaterial, family: str) -> MaterialFigures:
    """What the shop wrote down of a material, and nothing besides."""
    source = Source(f"material-{row.id}", row.source, Mark.ENTERED)
    points = tuple(
        MeanPoint(int(to_c), alpha / 1_000_000, source)
        for to_c, alpha in json.loads(row.mean_expansions, parse_float=Fraction, parse_int=Fraction)
    )
    stiffness = strength = None
    if row.modulus_gpa is not None and row.poisson is not None:
        stiffness = Stiffness(Elastic(row.modulus_gpa, row.poisson), row.name, source, source)
    if row.yield_mpa is not None:
        strength = Strength(row.yield_mpa, row.yield_mpa, StrengthKind.YIELD, row.name, source)
    within = row.expansion_within
    return MaterialFigures(
        name=row.name,
        family=family,
        points=points,
        expansion=Expansion(points[0].alpha_per_k, source) if points else None,
        within_per_k=None if within is None or not points else exact(within) / 1_000_000,
        stiffness=stiffness,
        strength=strength,
        is_own=True,
    )


def _points_as(family: MaterialFigures) -> Iterable[MeanPoint]:
    return (replace(point, source=_source_as(family, point.source)) for point in family.points)


def _expansion_as(family: MaterialFigures) -> Expansion | None:
    if family.expansion is None:
        return None
    return replace(family.expansion, source=_source_as(family, family.expansion.source))


def _stiffness_as(family: MaterialFigures) -> Stiffness | None:
    if family.stiffness is None:
        return None
    return replace(
        family.stiffness,
        words=_words_as(family, family.stiffness.words),
        source=_source_as(family, family.stiffness.source),
        nu_source=_source_as(family, family.stiffness.nu_source),
    )


def _strength_as(family: MaterialFigures) -> Strength | None:
    if family.strength is None:
        return None
    return replace(
        family.strength,
        words=_words_as(family, family.strength.words),
        source=_source_as(family, family.strength.source),
    )


def _source_as(family: MaterialFigures, source: Source) -> Source:
    """The source of a figure that is only the family's, saying so."""
    return replace(source, text=f"as {family.name}: {source.text}")


def _words_as(family: MaterialFigures, words: str) -> str:
    return f"as {family.name}, {words}" if words else f"as {family.name}"
