"""The words that jobs are found by, kept in the same write as what they stand for."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import text
from sqlmodel import Session, col, select

from app.models.job import Job
from app.models.job_words import INDEX, JobWords
from app.queries.job_words import texts_of
from app.workflow.job_words import all_words

# SQLite's index keeps no texts of its own: what it is to forget has to be told to it.
_FORGET = text(f"INSERT INTO {INDEX} ({INDEX}, rowid, words) VALUES ('delete', :job, :words)")
_KEEP = text(f"INSERT INTO {INDEX} (rowid, words) VALUES (:job, :words)")
_FORGET_FOR_GOOD = text(f"INSERT INTO {INDEX} ({INDEX}) VALUES ('optimize')")


def keep_job_words(session: Session, job_ids: Collection[int]) -> None:
    """Make jobs found by what stands in them now; few statements when nothing changed."""
    if not job_ids:
        return
    found = texts_of(session, job_ids)
    rows = {
        row.job_id: row
        for row in session.exec(select(JobWords).where(col(JobWords.job_id).in_(list(job_ids))))
    }
    is_sqlite = session.get_bind().dialect.name == "sqlite"
    for job_id in sorted(found):
        row, now = rows.get(job_id), all_words(found[job_id])
        if row is not None and row.words == now:
            continue
        if is_sqlite:
            if row is not None:
                session.execute(_FORGET, {"job": job_id, "words": row.words})
            session.execute(_KEEP, {"job": job_id, "words": now})
        row = row or JobWords(job_id=job_id, words=now)
        row.words = now
        session.add(row)
    session.flush()


def keep_words_of_customer(session: Session, customer_id: int, *, is_emptied: bool = False) -> None:
    """Make all jobs of a customer found by what the customer is called now."""
    ids = session.exec(select(Job.id).where(Job.customer_id == customer_id)).all()
    for start in range(0, len(ids), 500):
        keep_job_words(session, ids[start : start + 500])
    if is_emptied and session.get_bind().dialect.name == "sqlite":
        # Until its parts are put together, the index still holds what it was told to forget.
        session.execute(_FORGET_FOR_GOOD)
