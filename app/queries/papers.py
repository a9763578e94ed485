"""The sheets issued for a job, listed without their text."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

from sqlalchemy import and_
from sqlalchemy.orm import aliased, defer
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
    because: str  # what a later revision was issued for

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
            because=row.because or "",
        )
        for row, by in rows
    )


@dataclass(frozen=True, slots=True)
class Later:
    """A revision that came after a sheet."""

    id: int
    rev: int
    at: datetime
    because: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Issued:
    """A sheet to be shown: its bytes as issued, and what superseded it since, the oldest first."""

    id: int
    kind: SheetKind
    number: str
    head: str
    rev: int
    at: datetime
    html: str
    sha256: str
    style_sha256: str
    later: tuple[Later, ...]


def issued(session: Session, sheet_id: int) -> Issued | None:
    """One sheet, in one statement: it is asked for as often as any page."""
    after = aliased(Sheet)
    same = and_(
        col(after.kind) == col(Sheet.kind),
        col(after.job_id) == col(Sheet.job_id),
        col(after.head_id).is_not_distinct_from(col(Sheet.head_id)),
        col(after.rev) > col(Sheet.rev),
    )
    columns: tuple[Any, ...] = (
        Sheet.kind,
        Job.number,
        Head.name,
        Sheet.rev,
        Sheet.at,
        Sheet.html,
        Sheet.sha256,
        Sheet.style_sha256,
        after.id,
        after.rev,
        after.at,
        after.because,
        after.sha256,
    )
    rows = session.execute(
        select(*columns)
        .select_from(Sheet)
        .join(Job, col(Job.id) == col(Sheet.job_id))
        .outerjoin(Head, col(Head.id) == col(Sheet.head_id))
        .outerjoin(after, same)
        .where(col(Sheet.id) == sheet_id)
        .order_by(col(after.rev))
    ).all()
    if not rows:
        return None
    kind, number, head, rev, at, html, own_hash, style, *_ = rows[0]
    return Issued(
        id=sheet_id,
        kind=kind,
        number=number,
        head=head or "",
        rev=rev,
        at=at,
        html=html,
        sha256=own_hash,
        style_sha256=style,
        later=tuple(
            Later(own, nth, when, because or "", its_hash)
            for *_, own, nth, when, because, its_hash in rows
            if own is not None
        ),
    )


def _heads(session: Session, job: Job) -> list[Head]:
    return list(session.exec(select(Head).where(Head.job_id == job.id)))
