"""One reading with what it was read on: a head, a position of it, or a ring of a set."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session, col, select

from app.models.head import Head, Port
from app.models.job import Job
from app.models.person import Person
from app.models.reading import Reading, ReadingSet, ReadingStrike
from app.models.ring import Ring, RingSet


@dataclass(frozen=True, slots=True)
class OneReading:
    """A reading of a head or of a ring set, by whom, and why it was struck when it was."""

    reading: Reading
    on: str
    by: str
    struck_because: str
    head: Head | None
    ring_set: RingSet | None
    job: Job | None  # rings on the shelf have none

    @property
    def home(self) -> str:
        """The page that shows it; of a head's pages the first."""
        if self.head is not None:
            return f"/heads/{self.head.id}/stem-heights"
        assert self.ring_set is not None
        return f"/ring-sets/{self.ring_set.id}"


def one_reading(session: Session, reading_id: int) -> OneReading | None:
    """None when there is none, or when it is of a bore: those are settled where they were cut."""
    found = session.exec(
        select(Reading, ReadingSet, Person.name, ReadingStrike.reason)
        .join(ReadingSet, col(ReadingSet.id) == col(Reading.reading_set_id))
        .join(Person, col(Person.id) == col(Reading.typed_by_id))
        .outerjoin(ReadingStrike, col(ReadingStrike.reading_id) == col(Reading.id))
        .where(Reading.id == reading_id)
    ).first()
    if found is None:
        return None
    reading, read, by, struck = found
    if read.port_id is not None:
        port = session.get_one(Port, read.port_id)
        head = session.get_one(Head, port.head_id)
        job = session.get_one(Job, head.job_id)
        return OneReading(reading, port.label, by, struck or "", head, None, job)
    if read.ring_id is not None:
        ring = session.get_one(Ring, read.ring_id)
        ring_set = session.get_one(RingSet, ring.ring_set_id)
        of = session.get_one(Job, ring_set.job_id) if ring_set.job_id is not None else None
        return OneReading(reading, f"ring {ring.tag}", by, struck or "", None, ring_set, of)
    if read.head_id is not None:
        head = session.get_one(Head, read.head_id)
        job = session.get_one(Job, head.job_id)
        return OneReading(reading, "the head", by, struck or "", head, None, job)
    return None
