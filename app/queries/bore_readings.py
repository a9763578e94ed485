"""The fields of a position's bore, and the gauge that reads it."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlmodel import Session, col, select

from app.calc.units import Length
from app.models.crib import Instrument
from app.models.reading import ReadingSet
from app.workflow.grids import BORE, LOWER_BORE, Column
from app.workflow.kinds import Quantity, ReadingKind, Unit
from app.worksheets.cells import Cell, Comparator, cells_of
from app.worksheets.cutting import is_open
from app.worksheets.head_rows import PortRows
from app.worksheets.readings import Readings, Subject, load_one

# A gauge is zeroed once for a run of bores, and again on another day.
REMEMBERED = timedelta(hours=12)


def bore_cells(
    session: Session, rows: PortRows, unit: Unit, comparator: Comparator | None
) -> tuple[tuple[Cell, ...], tuple[Cell, ...]]:
    """The fields of a position's bore: those asked for, and more heights on demand.

    What was read before the position was opened again says nothing of the bore that is cut now:
    its fields are empty.
    """
    if rows.port_pass is None:
        return (), ()
    subject = Subject("port_pass", rows.port_pass.id)
    readings = Readings(subject, ReadingKind.BORE)
    if not is_open(rows):
        readings = load_one(session, ReadingKind.BORE, subject)

    def cells(columns: tuple[Column, ...]) -> tuple[Cell, ...]:
        made: list[Cell] = []
        for column in columns:
            of_gauge = column.quantity is Quantity.BORE
            made += cells_of(
                readings,
                (column,),
                about=rows.label,
                unit=unit,
                comparator=comparator if of_gauge else None,
            )
        return tuple(made)

    return cells(BORE), cells(LOWER_BORE)


def read_with_last(
    session: Session, person_id: int, at: datetime, readings: Readings | None
) -> ReadingSet | None:
    """The gauge of this bore, else what this person last gauged a bore with, today."""
    if readings is not None and readings.set is not None and not readings.set.is_afresh:
        return readings.set
    return session.exec(
        select(ReadingSet)
        .where(
            ReadingSet.kind == ReadingKind.BORE,
            ReadingSet.by_id == person_id,
            col(ReadingSet.is_afresh).is_(False),
            col(ReadingSet.at) >= at - REMEMBERED,
        )
        .order_by(col(ReadingSet.id).desc())
        .limit(1)
    ).first()


def comparator_of(
    session: Session, instrument_id: int | None, zeroed_on: Length | None
) -> Comparator | None:
    """The master that a comparing gauge was zeroed on."""
    if zeroed_on is None or instrument_id is None:
        return None
    instrument = session.get(Instrument, instrument_id)
    if instrument is None or not instrument.is_comparator:
        return None
    return Comparator(zeroed_on, instrument.division)
