"""The sheets issued for a job, listed without their text."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

from sqlalchemy.orm import defer
from sqlmodel import Session, col, select

from app.models.head import Head
from app.models.job import Job
from app.models.person import Person
from app.models.sheet import Sheet
from app.workflow.kinds import SheetKind


@dataclass(frozen=True, slots=True)
class Paper:
    """One issued sheet in a list; its bytes stay where they are."""

    id: int
    kind: SheetKind
    head_id: int | None
    head: str
    rev: int
    newest_rev: int
    at: datetime
    by: str
    sha256: str
    log_head: str

    @property
    def is_superseded(self) -> bool:
        """A later revision was issued."""
        return self.rev < self.newest_rev

    @property
    def name(self) -> str:
        """``head record, left``."""
        return f"{self.kind.screen}, {self.head}" if self.head else self.kind.screen


def papers_of(session: Session, job: Job) -> tuple[Paper, ...]:
    """Every sheet issued for a job, the newest first, without its text."""
    rows = session.exec(
        select(Sheet, Person.name)
        .join(Person, col(Person.id) == col(Sheet.by_id))
        .options(defer(cast(Any, Sheet.html)), defer(cast(Any, Sheet.data)))
        .where(Sheet.job_id == job.id)
        .order_by(col(Sheet.id).desc())
    ).all()
    names = {head.id: head.name for head in _heads(session, job)}
    newest: dict[tuple[SheetKind, int | None], int] = {}
    for row, _ in rows:
        newest.setdefault((row.kind, row.head_id), row.rev)
    return tuple(
        Paper(
            id=row.id,
            kind=row.kind,
            head_id=row.head_id,
            head=names.get(row.head_id or 0, ""),
            rev=row.rev,
            newest_rev=newest[row.kind, row.head_id],
            at=row.at,
            by=by,
            sha256=row.sha256,
            log_head=row.log_head,
        )
        for row, by in rows
    )


def _heads(session: Session, job: Job) -> list[Head]:
    return list(session.exec(select(Head).where(Head.job_id == job.id)))
