"""Comebacks: which job is the return of which, and of which of its heads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy.orm import aliased
from sqlmodel import Session, col, select

from app.models.head import Head
from app.models.job import Job
from app.workflow.words import listed


@dataclass(frozen=True, slots=True)
class Return:
    """Two jobs of one head: the first, and the one that it came back as."""

    first: Job
    again: Job
    heads: str  # "left"; empty where the first job had one head, without a name


def return_of(session: Session, job: Job) -> Return | None:
    """What a job is the return of."""
    first = session.get(Job, job.comeback_of_id) if job.comeback_of_id else None
    return Return(first, job, _heads(session, [job]).get(job.id, "")) if first else None


def returns_of(session: Session, job: Job) -> tuple[Return, ...]:
    """What a job came back as, the oldest first; one opened by mistake is none."""
    found = session.exec(
        select(Job)
        .where(Job.comeback_of_id == job.id, col(Job.voided_at).is_(None))
        .order_by(col(Job.id))
    ).all()
    heads = _heads(session, found)
    return tuple(Return(job, again, heads.get(again.id, "")) for again in found)


def _heads(session: Session, jobs: Sequence[Job]) -> dict[int, str]:
    """Which heads of the first job they were, by its names for them."""
    if not jobs:
        return {}
    before = aliased(Head)
    rows = session.exec(
        select(Head.job_id, before.name)
        .join(before, col(before.id) == col(Head.comeback_of_id))
        .where(col(Head.job_id).in_([job.id for job in jobs]), before.name != "")
        .order_by(col(before.nth))
    ).all()
    names: dict[int, list[str]] = {}
    for job_id, name in rows:
        names.setdefault(job_id, []).append(name)
    return {job_id: listed(each) for job_id, each in names.items()}
