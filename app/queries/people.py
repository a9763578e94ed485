"""Who works in the shop."""

from __future__ import annotations

from collections.abc import Sequence

from sqlmodel import Session, col, select

from app.models.person import Person
from app.workflow.words import Role


def has_owner(session: Session) -> bool:
    """Whether the shop was opened: it always has an owner from then on."""
    return (
        session.exec(
            select(Person.id).where(Person.role == Role.OWNER, col(Person.retired_at).is_(None))
        ).first()
        is not None
    )


def list_people(session: Session) -> Sequence[Person]:
    """Everyone who can sign in, by name."""
    return session.exec(
        select(Person).where(col(Person.retired_at).is_(None)).order_by(col(Person.name))
    ).all()


def list_retired(session: Session) -> Sequence[Person]:
    """Everyone who could once, by name; their records keep their names."""
    return session.exec(
        select(Person).where(col(Person.retired_at).is_not(None)).order_by(col(Person.name))
    ).all()


def readers(session: Session) -> list[tuple[int, str]]:
    """Everyone who may have read something once, those who are still there first."""
    rows = session.exec(
        select(Person.id, Person.name).order_by(
            col(Person.retired_at).is_not(None), col(Person.name)
        )
    )
    return list(rows)
