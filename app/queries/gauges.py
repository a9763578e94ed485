"""Which gauges a page of readings offers, and what the chosen one makes of what is typed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlmodel import Session, col, select

from app.calc.units import Length
from app.forms.cells import Comparator
from app.models.crib import Instrument
from app.models.reading import ReadingSet
from app.workflow.kinds import InstrumentKind, Unit
from app.worksheets.readings import Readings


@dataclass(frozen=True, slots=True)
class Gauge:
    """The chosen instrument: its unit, and its master where it compares."""

    instrument: Instrument | None
    unit: Unit
    comparator: Comparator | None


def gauges(session: Session, kinds: Iterable[InstrumentKind]) -> list[Instrument]:
    """Instruments in use of these kinds, by name."""
    wanted = list(kinds)
    if not wanted:
        return []
    return list(
        session.exec(
            select(Instrument)
            .where(col(Instrument.kind).in_(wanted), col(Instrument.retired_at).is_(None))
            .order_by(col(Instrument.name))
        )
    )


def gauge_of(
    session: Session, instrument_id: int | None, zeroed_on: Length | None, unit: Unit
) -> Gauge:
    """A plain number takes the instrument's unit, else the job's."""
    found = session.get(Instrument, instrument_id) if instrument_id is not None else None
    if found is None:
        return Gauge(None, unit, None)
    master = (
        Comparator(zeroed_on, found.division)
        if zeroed_on is not None and found.is_comparator
        else None
    )
    return Gauge(found, found.unit, master)


def last_read_with(readings: Iterable[Readings | None]) -> ReadingSet | None:
    """What the page's newest readings were taken with."""
    sets = [each.set for each in readings if each is not None and each.set is not None]
    kept = [each for each in sets if not each.is_afresh]
    return max(kept, key=lambda each: each.id, default=None)
