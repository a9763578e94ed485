"""What an instrument has read since it was last known to be right, and what rests on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session, col, func, or_, select

from app.models.crib import InstrumentCheck
from app.models.head import Head, Port
from app.models.job import Job
from app.models.port_pass import PortPass
from app.models.reading import Reading, ReadingSet, ReadingStrike
from app.models.result import NoLongerStands, Result, ResultReading
from app.workflow.kinds import Quantity

# A page names one gauge: heights, insides and depths of the same set were read with another.
_BY_ANOTHER = (Quantity.RING_HEIGHT, Quantity.RING_ID, Quantity.DEPTH)
MOST_SHOWN = 40


@dataclass(frozen=True, slots=True)
class RestedOnIt:
    """A position of which something accepted no longer stands because of the instrument."""

    number: str
    name: str
    port_id: int


def read_since_it_held(session: Session, instrument_id: int) -> list[int]:
    """Readings taken with it since the last check that held, those struck left out."""
    held = session.exec(
        select(func.max(col(InstrumentCheck.at))).where(
            InstrumentCheck.instrument_id == instrument_id, col(InstrumentCheck.is_within)
        )
    ).one()
    query = (
        select(Reading.id)
        .join(ReadingSet, col(ReadingSet.id) == col(Reading.reading_set_id))
        .outerjoin(ReadingStrike, col(ReadingStrike.reading_id) == col(Reading.id))
        .where(
            ReadingSet.with_instrument_id == instrument_id,
            col(Reading.quantity).not_in(_BY_ANOTHER),
            col(ReadingStrike.id).is_(None),
        )
        .order_by(col(Reading.id))
    )
    if held is not None:
        query = query.where(col(Reading.taken_at) > held)
    return list(session.exec(query))


def heads_of_results(session: Session, result_ids: Sequence[int]) -> set[int]:
    """The heads that results are about, by their pass or their position."""
    return set(
        session.exec(
            select(Port.head_id)
            .outerjoin(PortPass, col(PortPass.port_id) == col(Port.id))
            .join(
                Result,
                or_(
                    col(Result.port_pass_id) == col(PortPass.id),
                    col(Result.port_id) == col(Port.id),
                ),
            )
            .where(col(Result.id).in_(list(result_ids)))
        )
    )


def rested_on(session: Session, reading_ids: Sequence[int]) -> list[RestedOnIt]:
    """Positions whose accepted results rested on these readings and no longer stand."""
    if not reading_ids:
        return []
    rows = session.exec(
        select(Job.number, Head.name, Port.label, Port.id)
        .select_from(ResultReading)
        .join(NoLongerStands, col(NoLongerStands.result_id) == col(ResultReading.result_id))
        .join(Result, col(Result.id) == col(ResultReading.result_id))
        .join(PortPass, col(PortPass.id) == col(Result.port_pass_id))
        .join(Port, col(Port.id) == col(PortPass.port_id))
        .join(Head, col(Head.id) == col(Port.head_id))
        .join(Job, col(Job.id) == col(Head.job_id))
        .where(col(ResultReading.reading_id).in_(list(reading_ids)))
        .distinct()
        .order_by(col(Job.number).desc(), col(Port.id))
        .limit(MOST_SHOWN)
    ).all()
    return [
        RestedOnIt(number, f"{head} {label}".strip(), port_id)
        for number, head, label, port_id in rows
    ]
