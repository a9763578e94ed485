"""What is with a job by the newest counts."""

from __future__ import annotations

from sqlmodel import Session, col, select

from app.models.job import Received


def counted(session: Session, job_id: int, *, is_out: bool) -> dict[str, int]:
    """The newest count of each part, in the order in which they were first counted."""
    found: dict[str, int] = {}
    for row in session.exec(
        select(Received)
        .where(Received.job_id == job_id, Received.is_out == is_out)
        .order_by(col(Received.id))
    ):
        found[row.what] = row.pieces
    return found
