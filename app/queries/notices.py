"""Notices given on a job, and what they say of a head that nobody collects."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from app.models.job import Job, Notice
from app.models.person import Person
from app.workflow.kinds import NoticeOf


@dataclass(frozen=True, slots=True)
class Given:
    """One notice with who gave it."""

    notice: Notice
    by: str


def notices_of(session: Session, job: Job) -> list[Given]:
    """Newest first."""
    rows = session.exec(
        select(Notice, Person.name)
        .join(Person, col(Person.id) == col(Notice.by_id))
        .where(Notice.job_id == job.id)
        .order_by(col(Notice.id).desc())
    )
    return [Given(notice, by) for notice, by in rows]


def short_of_notice(session: Session, job: Job, today: date) -> str:
    """Why the record does not carry it yet that a head is abandoned; empty where it does."""
    last = [
        each.notice
        for each in notices_of(session, job)
        if each.notice.notice_of is NoticeOf.LAST and each.notice.until is not None
    ]
    if not last:
        return "no last notice is on record"
    until = min(notice.until for notice in last if notice.until is not None)
    if until >= today:
        return f"the last notice runs until {until.isoformat()}"
    return ""
