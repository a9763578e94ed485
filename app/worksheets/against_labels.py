"""A ring set as measured against its label: what a seller is told, with how it was measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from app.calc.label import over_label
from app.calc.units import Length, mean_nm, spread
from app.models.crib import Instrument, InstrumentCheck
from app.models.reading import ReadingSet
from app.models.ring import RingSet
from app.workflow.kinds import Quantity, Unit
from app.workflow.shop_rules import ShopRules
from app.worksheets.ring_sets import RingRow, load_set


@dataclass(frozen=True, slots=True)
class AgainstLabel:
    """One size of a ring: its mean as measured, and how far it lies from what is printed."""

    measured: Length
    over: Length | None  # None where the label does not say
    readings: int


@dataclass(frozen=True, slots=True)
class RingAgainstLabel:
    """One ring; a size that is missing or in doubt is None and said in `open`."""

    tag: str
    od: AgainstLabel | None
    od_spread: Length | None
    height: AgainstLabel | None
    open: str


@dataclass(frozen=True, slots=True)
class HowMeasured:
    """With what, zeroed on what, how warm; `rings` are the tags that were read so."""

    instrument: str
    division: Length | None
    unit: Unit
    checked_at: datetime | None
    zeroed_on: Length | None
    part_c: float
    gauge_c: float
    rings: tuple[str, ...]


@dataclass(frozen=True)
class SetAgainstLabel:
    """The set, its rings, and how the differences lie together."""

    ring_set: RingSet
    material: str
    rings: tuple[RingAgainstLabel, ...]
    how: tuple[HowMeasured, ...]
    read_at: datetime | None
    mean: Length | None  # of the differences on the outside
    least: Length | None
    most: Length | None

    @property
    def measured(self) -> int:
        """How many rings have an outside."""
        return sum(ring.od is not None for ring in self.rings)

    @property
    def apart(self) -> Length | None:
        """How far the differences lie apart."""
        if self.least is None or self.most is None:
            return None
        return spread([self.least, self.most])


def against_label(session: Session, ring_set: RingSet, rules: ShopRules) -> SetAgainstLabel:
    """A set's rings beside what its box says."""
    working = load_set(session, ring_set, rules)
    rings = tuple(_ring(row, ring_set) for row in working.rows)
    over = [ring.od.over for ring in rings if ring.od is not None and ring.od.over is not None]
    return SetAgainstLabel(
        ring_set=ring_set,
        material=working.material.name if ring_set.material else "",
        rings=rings,
        how=_how(session, working.rows),
        read_at=max(
            (at for row in working.rows if (at := row.readings.newest_at) is not None),
            default=None,
        ),
        mean=Length.nearest(mean_nm(over)) if over else None,
        least=min(over, default=None),
        most=max(over, default=None),
    )


def _ring(row: RingRow, ring_set: RingSet) -> RingAgainstLabel:
    if row.measured is None:
        words = "not measured" if row.is_empty else row.open_words.partition(": ")[2]
        return RingAgainstLabel(row.tag, None, None, None, words)
    ods = row.readings.values(Quantity.RING_OD)
    heights = row.readings.values(Quantity.RING_HEIGHT)
    return RingAgainstLabel(
        tag=row.tag,
        od=AgainstLabel(
            row.measured.od,
            None
            if ring_set.label_od is None
            else over_label(measured_nm=row.measured.od_nm, label=ring_set.label_od),
            len(ods),
        ),
        od_spread=spread(ods) if len(ods) > 1 else None,
        height=AgainstLabel(
            row.measured.height,
            None
            if ring_set.label_height is None
            else over_label(measured_nm=row.measured.height_nm, label=ring_set.label_height),
            len(heights),
        ),
        open="",
    )


def _how(session: Session, rows: Sequence[RingRow]) -> tuple[HowMeasured, ...]:
    """Each way in which rings of the set were read, once."""
    read = [(row, row.readings.set) for row in rows if row.readings.set and row.measured]
    ids = {found.with_instrument_id for _, found in read if found and found.with_instrument_id}
    instruments = {
        each.id: each
        for each in session.exec(select(Instrument).where(col(Instrument.id).in_(ids)))
    }
    checks: dict[int, datetime] = {}
    for check in session.exec(
        select(InstrumentCheck)
        .where(col(InstrumentCheck.instrument_id).in_(ids))
        .order_by(col(InstrumentCheck.id))
    ):
        checks[check.instrument_id] = check.at
    ways: dict[tuple[object, ...], list[tuple[RingRow, ReadingSet]]] = {}
    for row, found in read:
        assert found is not None
        key = (
            found.with_instrument_id,
            found.zeroed_on,
            row.readings.part_c,
            row.readings.gauge_c,
        )
        ways.setdefault(key, []).append((row, found))
    told = []
    for same in ways.values():
        row, found = same[0]
        instrument = instruments.get(found.with_instrument_id or 0)
        told.append(
            HowMeasured(
                instrument=instrument.name if instrument else "",
                division=instrument.division if instrument else None,
                unit=instrument.unit if instrument else Unit.INCH,
                checked_at=checks.get(instrument.id) if instrument else None,
                zeroed_on=found.zeroed_on,
                part_c=row.readings.part_c,
                gauge_c=row.readings.gauge_c,
                rings=tuple(each.tag for each, _ in same),
            )
        )
    return tuple(told)
