"""Materials for their pages and for the choices of forms: tabled ones and the shop's own."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlmodel import Session, col, func, select

from app.calc.gauge import shown_ppm
from app.calc.hot_expansion import MeanPoint
from app.calc.materials import RING_MATERIALS, HeadMaterial
from app.calc.sources import Source
from app.calc.stiffness import Stiffness, Strength
from app.models.head import Head
from app.models.job import Job
from app.models.material import ShopMaterial
from app.models.person import Person
from app.models.ring import RingSet
from app.workflow.kinds import MaterialOf
from app.workflow.words import Material
from app.worksheets.materials import (
    NOT_KNOWN,
    MaterialFigures,
    every_material,
    figures_of_head,
    head_family,
    own_figures,
    ring_family,
)

# A mean that a table prints to 93 or 204 °C stands under 100 or 200 with its own end.
ENDS = ((100, 150), (200, 250))


@dataclass(frozen=True, slots=True)
class Shown:
    """One figure with what it is of, and its source by its number on the page."""

    text: str
    note: str
    source: Source
    nth: int


@dataclass(frozen=True, slots=True)
class MaterialLine:
    """One material in a table; an empty cell is not known. `row` is None of a tabled one."""

    figures: MaterialFigures
    row: ShopMaterial | None
    expansion: tuple[tuple[Shown, ...], ...]  # to 100, to 200, hotter
    modulus: tuple[Shown, ...]
    strength: tuple[Shown, ...]

    @property
    def of_family(self) -> str:
        """Which family an own one goes with."""
        return "" if self.row is None else family_words(self.row.material_of, self.row.family)


@dataclass(frozen=True, slots=True)
class MaterialTables:
    """The page: heads, seat rings, and every source that stands behind a figure."""

    heads: tuple[MaterialLine, ...]
    rings: tuple[MaterialLine, ...]
    sources: tuple[Source, ...]


@dataclass(frozen=True, slots=True)
class MaterialVersion:
    """What the shop said of a material once."""

    row: ShopMaterial
    by: str
    points: tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True)
class MaterialView:
    """One of the shop's own materials with all its versions, newest first."""

    row: ShopMaterial
    versions: tuple[MaterialVersion, ...]
    heads: int
    sets: int

    @property
    def family(self) -> str:
        """The family in words."""
        return family_words(self.row.material_of, self.row.family)


def material_tables(session: Session) -> MaterialTables:
    """Tabled materials and the shop's own under them; sources numbered as they are met."""
    sources: dict[Source, int] = {}
    own = every_material(session)
    heads = [(head_family(family), None) for family in HeadMaterial]
    rings = [(ring_family(key), None) for key in RING_MATERIALS if key != NOT_KNOWN]
    own_heads = [
        (figures_of_head(Material(row.family), row), row)
        for row in own
        if row.material_of is MaterialOf.HEAD
    ]
    own_rings = [
        (own_figures(row, row.family or NOT_KNOWN), row)
        for row in own
        if row.material_of is MaterialOf.RING
    ]
    return MaterialTables(
        heads=tuple(_line(figures, row, sources) for figures, row in [*heads, *own_heads]),
        rings=tuple(_line(figures, row, sources) for figures, row in [*rings, *own_rings]),
        sources=tuple(sources),
    )


def material_view(session: Session, key: str) -> MaterialView | None:
    """One of the shop's own, with where it is in use; None when there is none."""
    found = session.exec(
        select(ShopMaterial, Person.name)
        .join(Person, col(Person.id) == col(ShopMaterial.by_id))
        .where(ShopMaterial.key == key)
        .order_by(col(ShopMaterial.id).desc())
    ).all()
    if not found:
        return None
    heads = session.exec(
        select(func.count(col(Head.id)))
        .join(Job, col(Job.id) == col(Head.job_id))
        .where(Head.alloy == key, col(Job.ended_at).is_(None), col(Job.voided_at).is_(None))
    ).one()
    sets = session.exec(
        select(func.count(col(RingSet.id)))
        .outerjoin(Job, col(Job.id) == col(RingSet.job_id))
        .where(RingSet.material == key, col(Job.ended_at).is_(None), col(Job.voided_at).is_(None))
    ).one()
    versions = [MaterialVersion(row, name, points_of(row)) for row, name in found]
    return MaterialView(versions[0].row, tuple(versions), heads, sets)


def points_of(row: ShopMaterial) -> tuple[tuple[int, float], ...]:
    """Its mean expansions as they were typed: up to °C, 1e-6/K."""
    return tuple((int(to_c), float(alpha)) for to_c, alpha in json.loads(row.mean_expansions))


def family_words(of: MaterialOf, family: str) -> str:
    """A family's key in words."""
    if of is MaterialOf.HEAD:
        return Material(family).screen
    return RING_MATERIALS[family].words if family in RING_MATERIALS else ""


def ring_choices(session: Session, chosen: str = "") -> list[tuple[str, str]]:
    """Ring materials for a form; a retired one only where it is chosen already."""
    tabled = [(key, one.words) for key, one in RING_MATERIALS.items()]
    own = [
        (row.key, _own_words(row))
        for row in every_material(session, MaterialOf.RING)
        if not row.is_retired or row.key == chosen
    ]
    # "not known" last: it is what is left.
    return [*tabled[:-1], *own, tabled[-1]]


def head_choices(session: Session, chosen: str | None = None) -> list[tuple[str, str, str]]:
    """Head materials for a form, each family followed by its alloys: ``aluminium/own-2``."""
    own = [
        row
        for row in every_material(session, MaterialOf.HEAD)
        if not row.is_retired or row.key == chosen
    ]
    found: list[tuple[str, str, str]] = []
    for family in Material:
        alloys = [row for row in own if row.family == family.value]
        found.append((family.value, family.screen, "any other of the kind" if alloys else ""))
        found += [(head_choice(family, row.key), _own_words(row), family.screen) for row in alloys]
    return found


def head_choice(family: Material | None, alloy: str | None) -> str:
    """What a form's field holds for a family or an alloy of it."""
    if family is None:
        return ""
    return f"{family.value}/{alloy}" if alloy else family.value


def _own_words(row: ShopMaterial) -> str:
    return f"{row.name}{' (out of use)' if row.is_retired else ''}"


def _line(
    figures: MaterialFigures, row: ShopMaterial | None, sources: dict[Source, int]
) -> MaterialLine:
    return MaterialLine(
        figures=figures,
        row=row,
        expansion=tuple(_expansion(figures.points, sources)),
        modulus=_modulus(figures.stiffness, sources),
        strength=_strength(figures.strength, sources),
    )


def _expansion(
    points: Sequence[MeanPoint], sources: dict[Source, int]
) -> Iterable[tuple[Shown, ...]]:
    after = 0
    for headed, until in ENDS:
        own = [point for point in points if after < point.to_c <= until]
        yield tuple(_point(point, headed, sources) for point in own)
        after = until
    yield tuple(_point(point, 0, sources) for point in points if point.to_c > after)


def _point(point: MeanPoint, headed: int, sources: dict[Source, int]) -> Shown:
    note = "" if point.to_c == headed else f"to {point.to_c} °C"
    return _shown(shown_ppm(point.alpha_per_k), note, point.source, sources)


def _modulus(stiffness: Stiffness | None, sources: dict[Source, int]) -> tuple[Shown, ...]:
    if stiffness is None:
        return ()
    elastic = stiffness.elastic
    return (
        _shown(f"{elastic.e_gpa:g}", "", stiffness.source, sources),
        _shown(f"{elastic.nu:g}", "ratio", stiffness.nu_source, sources),
    )


def _strength(strength: Strength | None, sources: dict[Source, int]) -> tuple[Shown, ...]:
    if strength is None:
        return ()
    low, high = f"{strength.low_mpa:g}", f"{strength.high_mpa:g}"
    text = low if low == high else f"{low}–{high}"
    return (_shown(text, strength.kind.value, strength.source, sources),)


def _shown(text: str, note: str, source: Source, sources: dict[Source, int]) -> Shown:
    return Shown(text, note, source, sources.setdefault(source, len(sources) + 1))
