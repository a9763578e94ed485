"""Whether anything happened that a page does not show yet: asked every few seconds by each."""

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
