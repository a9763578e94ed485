"""A job with a head and a position, written straight in for pages that only show them."""

from __future__ import annotations

from dataclasses import dataclass

from app.db import Database
from app.models.person import Person
from app.services.write import Write
from tests.services.bench_rows import head_row, job_row, position_row


@dataclass(frozen=True)
class Position:
    """Ids of what was written."""

    job_id: int
    head_id: int
    port_id: int


def position(database: Database, by: int, seq: int = 1) -> Position:
    """Position 3E of job 26-0001."""
    with database.write() as session:
        tx = Write(session, session.get(Person, by))
        job = job_row(tx, seq)
        head = head_row(tx, job)
        port = position_row(tx, head)
        return Position(job.id, head.id, port.id)
