"""Whether anything happened that a page does not show yet, and whether what it sent did."""

from __future__ import annotations

from sqlmodel import Session, col, func, or_, select

from app.models.event import Event


def is_news(session: Session, since: int, *, job_id: int | None = None, but: str = "") -> bool:
    """Whether an event came after `since`: of one job, and from other pages than `but`.

    Bounded by the primary key, so that its cost is that of the events since then.
    """
    news = select(Event.id).where(col(Event.id) > since)
    if job_id is not None:
        news = news.where(Event.job_id == job_id)
    if but:
        sender = func.substr(Event.client_key, 1, len(but))
        news = news.where(or_(col(Event.client_key).is_(None), sender != but))
    return session.exec(news.limit(1)).first() is not None


def is_taken(session: Session, client_key: str) -> bool:
    """Whether the form of this key is in the record."""
    found = select(Event.id).where(Event.client_key == client_key)
    return session.exec(found.limit(1)).first() is not None
