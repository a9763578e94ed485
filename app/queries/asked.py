"""Since when a customer's yes is missing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, func, select

from app.models.event import Event
from app.models.job import Job
from app.workflow.facts import JobFacts
from app.workflow.status import asks_of


def asked_since(
    session: Session, jobs: Sequence[Job], facts: Mapping[int, JobFacts], zone: ZoneInfo
) -> dict[int, date]:
    """Since when a yes is missing: since the prices last moved, else since it was taken in."""
    asked = {job.id: job for job in jobs if facts[job.id].ended is None and asks_of(facts[job.id])}
    if not asked:
        return {}
    moved: dict[int | None, datetime] = dict(
        session.exec(
            select(Event.job_id, func.max(Event.at))
            .where(col(Event.job_id).in_(list(asked)), Event.subject == "price_line")
            .group_by(col(Event.job_id))
        ).all()
    )
    return {
        job_id: moved.get(job_id, job.taken_in_at).astimezone(zone).date()
        for job_id, job in asked.items()
    }
