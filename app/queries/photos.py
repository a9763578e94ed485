"""Pictures of a job, with what they show; those taken off stay listed with their reason."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, func, select

from app.models.head import Head, Port
from app.models.job import Job
from app.models.person import Person
from app.models.photo import Photo, PhotoStrike
from app.workflow.kinds import PhotoOf


@dataclass(frozen=True)
class Shown:
    """One picture as a list shows it."""

    photo: Photo
    by: str
    head: str  # empty on a job with one head
    label: str
    struck_because: str | None

    @property
    def what(self) -> str:
        """``left 3E, hold``: what it shows, for eyes that see the caption only."""
        where = " ".join(part for part in (self.head, self.label) if part)
        return f"{where}, {self.photo.photo_of.screen}" if where else self.photo.photo_of.screen

    @property
    def at(self) -> datetime:
        """When it was taken in."""
        return self.photo.at


def inspected_in(session: Session, head: Head) -> int:
    """How many pictures show a head as it came in or was inspected."""
    found = session.exec(
        select(func.count())
        .select_from(Photo)
        .outerjoin(PhotoStrike, col(PhotoStrike.photo_id) == col(Photo.id))
        .where(
            Photo.head_id == head.id,
            col(Photo.photo_of).in_([PhotoOf.INTAKE, PhotoOf.INSPECTION]),
            col(PhotoStrike.id).is_(None),
        )
    ).one()
    return int(found)


def photos_of(session: Session, job: Job) -> list[Shown]:
    """Newest first; one statement for them and one for the heads."""
    heads = dict(session.exec(select(Head.id, Head.name).where(Head.job_id == job.id)).all())
    rows = session.exec(
        select(Photo, Person.name, Port.label, PhotoStrike.reason)
        .join(Person, col(Person.id) == col(Photo.by_id))
        .outerjoin(Port, col(Port.id) == col(Photo.port_id))
        .outerjoin(PhotoStrike, col(PhotoStrike.photo_id) == col(Photo.id))
        .where(Photo.job_id == job.id)
        .order_by(col(Photo.id).desc())
    ).all()
    return [
        Shown(
            photo=photo,
            by=by,
            head=heads.get(photo.head_id or 0, "") if len(heads) > 1 else "",
            label=label or "",
            struck_because=reason,
        )
        for photo, by, label, reason in rows
    ]
