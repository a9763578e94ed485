"""Rows found through their owner, for reading and for changing: an ended job stays as it ended."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from sqlmodel import Session, select

from app.models.head import Head, Port
from app.models.job import Job
from app.models.shop import Shop
from app.services.write import NotFound, Refused, Write


def the_shop(session: Session) -> Shop:
    """The one shop."""
    shop = session.get(Shop, 1)
    if shop is None:
        raise NotFound("This shop is not set up yet.")
    return shop


def zone_of(session: Session) -> ZoneInfo:
    """The shop's clock."""
    return ZoneInfo(the_shop(session).zone)


def the_job(session: Session, number: str) -> Job:
    """A job by its number."""
    job = session.exec(select(Job).where(Job.number == number)).first()
    if job is None:
        raise NotFound(f"There is no job {number}. The number may be mistyped; search the counter.")
    return job


def the_head(session: Session, head_id: int) -> tuple[Job, Head]:
    """A head with its job."""
    head = session.get(Head, head_id)
    job = session.get(Job, head.job_id) if head else None
    if head is None or job is None:
        raise NotFound("There is no such head.")
    return job, head


def the_port(session: Session, port_id: int) -> tuple[Job, Head, Port]:
    """A position with its job and head."""
    port = session.get(Port, port_id)
    if port is None or port.is_void:
        raise NotFound("There is no such position.")
    job, head = the_head(session, port.head_id)
    return job, head, port


def open_job(tx: Write, number: str) -> Job:
    """A job that may still be changed."""
    return still_open(the_job(tx.session, number))


def open_head(tx: Write, head_id: int) -> tuple[Job, Head]:
    """A head whose job may still be changed."""
    job, head = the_head(tx.session, head_id)
    return still_open(job), head


def open_port(tx: Write, port_id: int) -> Port:
    """A position whose job may still be changed."""
    job, _, port = the_port(tx.session, port_id)
    still_open(job)
    return port


def still_open(job: Job) -> Job:
    """The job, unless it is over."""
    if job.voided_at is not None:
        raise Refused(f"{job.number} was voided; nothing more is changed on it.")
    if job.ended_as is not None:
        raise Refused(
            f"{job.number} is over ({job.ended_as.screen}); nothing more is changed on it. "
            "A note can still be written, and a comeback is a new job."
        )
    return job


def port_of(session: Session, head: Head, port_id: int) -> Port:
    """A position of this head."""
    port = session.get(Port, port_id)
    if port is None or port.head_id != head.id or port.is_void:
        raise NotFound("There is no such position on this head.")
    return port
