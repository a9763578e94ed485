"""A set of rings as read: each ring's figures, what is in doubt, what the label asks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from typing import Any

from sqlmodel import Session, col, select

from app.calc.label import LabelMeans as CalcLabelMeans
from app.calc.label import LabelQuestion, label_question
from app.calc.materials import Expansion
from app.calc.ring import Ring as MeasuredRing
from app.calc.ring import TaggedRing, measured_ring
from app.calc.units import Length
from app.models.head import Port
from app.models.ring import Ring, RingSet
from app.workflow.doubtful import Doubt, readings_in_doubt
from app.workflow.grids import FIRST_RING, OTHER_RING, Column
from app.workflow.kinds import Quantity, ReadingKind, Unit
from app.workflow.shop_rules import ShopRules
from app.worksheets.materials import MaterialFigures, figures_of_ring, materials_of_rings
from app.worksheets.readings import Kept, Readings, load_readings
from app.worksheets.rows import IDS, rows_of


@dataclass(frozen=True)
class RingRow:
    """One ring of a set: its readings, and its figures when nothing is open."""

    ring: Ring
    readings: Readings
    wanted: tuple[Column, ...]
    measured: MeasuredRing | None
    doubts: tuple[Doubt, ...]
    missing: tuple[str, ...]

    @property
    def tag(self) -> str:
        """The ring's number in its set."""
        return self.ring.tag

    @property
    def is_good(self) -> bool:
        """Read, and nothing in doubt."""
        return self.measured is not None

    @property
    def is_empty(self) -> bool:
        """Nothing was read on it."""
        return not self.readings.counting

    @property
    def open_words(self) -> str:
        """What keeps it from being worked from: ``ring 3: 1.6281 in doubt``."""
        if self.doubts:
            return f"ring {self.tag}: {self.doubts[0].typed} in doubt"
        if self.missing:
            return f"ring {self.tag}: {self.missing[0]} to read"
        return ""


@dataclass(frozen=True)
class SetWorking:
    """A set as it can be worked from now."""

    ring_set: RingSet
    rows: tuple[RingRow, ...]
    label: LabelQuestion | None
    material: MaterialFigures
    chosen: frozenset[int] = frozenset()  # rings that are promised to one position

    @property
    def good(self) -> tuple[RingRow, ...]:
        """Rings whose figures count."""
        return tuple(row for row in self.rows if row.is_good)

    @property
    def free(self) -> tuple[RingRow, ...]:
        """Rings that may go into any position for which none is chosen."""
        return tuple(row for row in self.rows if row.ring.id not in self.chosen)

    @property
    def tagged(self) -> list[TaggedRing]:
        """The good rings with their mean ODs."""
        return [TaggedRing(row.tag, row.measured.od) for row in self.good if row.measured]

    @property
    def od_nm(self) -> Fraction | None:
        """Mean OD of the good rings, exact."""
        return _mean([row.measured.od_nm for row in self.good if row.measured])

    @property
    def height_nm(self) -> Fraction | None:
        """Mean height of the good rings, exact."""
        return _mean([row.measured.height_nm for row in self.good if row.measured])

    @property
    def inside(self) -> Length | None:
        """The first inside diameter that was read."""
        for row in self.rows:
            found = row.readings.one(Quantity.RING_ID)
            if found is not None:
                return found
        return None

    @property
    def reading_ids(self) -> list[int]:
        """The readings under the good rings' figures."""
        return [kept.id for row in self.good for kept in row.readings.counting]

    @property
    def open_words(self) -> tuple[str, ...]:
        """What is open, ring by ring."""
        return tuple(row.open_words for row in self.rows if row.open_words)

    def row(self, ring_id: int) -> RingRow:
        """The ring with this id."""
        return next(row for row in self.rows if row.ring.id == ring_id)


def load_set(session: Session, ring_set: RingSet, rules: ShopRules) -> SetWorking:
    """One set."""
    return load_sets(session, [ring_set], rules)[ring_set.id]


def load_sets(
    session: Session, ring_sets: Sequence[RingSet], rules: ShopRules
) -> dict[int, SetWorking]:
    """Sets by id, in a fixed number of statements."""
    ids = [ring_set.id for ring_set in ring_sets]
    rings = [ring for ring in rows_of(session, Ring, "ring_set_id", ids) if ring.retired_at is None]
    readings = load_readings(session, ReadingKind.RING, "ring", [ring.id for ring in rings])
    chosen = session.exec(_chosen_of(), params={"ids": ids}).all()
    own = materials_of_rings(session, ring_sets)
    return {
        ring_set.id: work_set(
            ring_set,
            figures_of_ring(ring_set, own),
            [ring for ring in rings if ring.ring_set_id == ring_set.id],
            readings,
            rules,
            frozenset(one for one in chosen if one is not None),
        )
        for ring_set in ring_sets
    }


@cache
def _chosen_of() -> Any:
    return select(Port.ring_id).where(
        col(Port.ring_set_id).in_(IDS), col(Port.ring_id).is_not(None)
    )


def work_set(
    ring_set: RingSet,
    material: MaterialFigures,
    rings: Sequence[Ring],
    readings: dict[int, Readings],
    rules: ShopRules,
    chosen: frozenset[int] = frozenset(),
) -> SetWorking:
    """Figures of every ring of a set; nothing is worked from a doubtful reading."""
    rows = tuple(
        _row(
            ring,
            readings[ring.id],
            FIRST_RING if n == 0 else OTHER_RING,
            rules,
            ring_set.unit,
            material.expansion,
        )
        for n, ring in enumerate(rings)
    )
    return SetWorking(ring_set, rows, _label(ring_set, rows, rules), material, chosen)


def _row(
    ring: Ring,
    readings: Readings,
    wanted: tuple[Column, ...],
    rules: ShopRules,
    unit: Unit,
    expansion: Expansion | None,
) -> RingRow:
    doubts = tuple(
        doubt
        for quantity in (Quantity.RING_OD, Quantity.RING_HEIGHT)
        for doubt in readings_in_doubt(
            _plain(readings.of(quantity)), rules.length("readings_apart")
        )
    )
    missing = tuple(
        dict.fromkeys(
            column.quantity.screen
            for column in wanted
            if column.is_wanted and readings.at(column.quantity, column.place) is None
        )
    )
    return RingRow(
        ring=ring,
        readings=readings,
        wanted=wanted,
        measured=None if doubts or missing else _measured(readings, unit, expansion),
        doubts=doubts,
        missing=missing,
    )


def _measured(readings: Readings, unit: Unit, expansion: Expansion | None) -> MeasuredRing:
    return _ring_of(
        tuple(readings.values(Quantity.RING_OD)),
        tuple(readings.values(Quantity.RING_HEIGHT)),
        readings.part_c,
        readings.gauge_c,
        expansion,
        unit,
    )


# Every page and every write of a head works its rings out again, mostly from the same readings.
@lru_cache(maxsize=2000)
def _ring_of(
    od: tuple[Length, ...],
    height: tuple[Length, ...],
    part_c: float,
    gauge_c: float,
    expansion: Expansion | None,
    unit: Unit,
) -> MeasuredRing:
    return measured_ring(
        od=od,
        height=height,
        temperature_c=part_c,
        gauge_temperature_c=gauge_c,
        alpha_per_k=expansion.alpha_per_k if expansion else None,
        alpha_source=expansion.source if expansion else None,
        unit=unit.value,
    )


def _label(ring_set: RingSet, rows: Iterable[RingRow], rules: ShopRules) -> LabelQuestion | None:
    ods = [row.measured.od_nm for row in rows if row.measured]
    if ring_set.label_od is None or not ods:
        return None
    return label_question(
        ring_ods_nm=ods,
        label_od=ring_set.label_od,
        label_means=CalcLabelMeans(ring_set.label_means.value),
        alike_within=rules.length("readings_apart"),
        unit=ring_set.unit.value,
    )


def _plain(kept: Sequence[Kept]) -> list[Kept]:
    return list(kept)


def _mean(values: Sequence[Fraction]) -> Fraction | None:
    return sum(values, Fraction(0)) / len(values) if values else None
