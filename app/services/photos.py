"""Pictures of a job: kept with the head, position or hold that they show."""

from __future__ import annotations

from collections.abc import Sequence

from sqlmodel import col, select

from app.forms.photos import PhotoForm, StrikePhotoForm
from app.models.head import Head, Port
from app.models.job import Job
from app.models.photo import Photo, PhotoStrike
from app.models.port_pass import Hold
from app.pictures import Picture
from app.services.owned import the_job
from app.services.write import NotFound, Refused, Write, use_case


@use_case
def add_photos(tx: Write, number: str, form: PhotoForm, pictures: Sequence[Picture]) -> Photo:
    """Put kept pictures on record; their files are on the disk already."""
    job = the_job(tx.session, number)
    head, port, hold = _about(tx, job, form)
    if not pictures:
        raise Refused("no picture came with it; choose one", "picture")
    for picture in pictures:
        photo = tx.add(
            Photo(
                by_id=tx.by_id,
                at=tx.at,
                job_id=job.id,
                head_id=head.id if head else None,
                port_id=port.id if port else None,
                hold_id=hold.id if hold else None,
                photo_of=form.photo_of,
                caption=form.caption,
                sha256=picture.sha256,
                small_sha256=picture.small_sha256,
                width=picture.width,
                height=picture.height,
                size=picture.size,
            )
        )
        tx.log(
            "took a picture",
            photo,
            job=job,
            head=head,
            port=port,
            of=form.photo_of,
            sha256=picture.sha256,
        )
    return photo


@use_case
def strike_photo(tx: Write, photo_id: int, form: StrikePhotoForm) -> PhotoStrike:
    """Take a picture off the pages with a reason; it stays in the record."""
    photo = tx.session.get(Photo, photo_id)
    if photo is None:
        raise NotFound("There is no such picture.")
    if tx.session.exec(select(PhotoStrike).where(col(PhotoStrike.photo_id) == photo.id)).first():
        raise Refused("This picture was taken off already.")
    strike = tx.add(PhotoStrike(by_id=tx.by_id, at=tx.at, photo_id=photo.id, reason=form.reason))
    tx.log(
        "took a picture off the pages",
        strike,
        job=photo.job_id,
        head=photo.head_id,
        port=photo.port_id,
        photo=photo.id,
        reason=form.reason,
    )
    return strike


def _about(tx: Write, job: Job, form: PhotoForm) -> tuple[Head | None, Port | None, Hold | None]:
    hold = tx.session.get(Hold, form.hold_id) if form.hold_id else None
    port_id = hold.port_id if hold else form.port_id
    port = tx.session.get(Port, port_id) if port_id else None
    head_id = port.head_id if port else form.head_id
    head = tx.session.get(Head, head_id) if head_id else None
    wanted = (form.hold_id and hold is None) or (port_id and port is None)
    if wanted or (head_id and head is None) or (head is not None and head.job_id != job.id):
        raise Refused("is not on this job; choose again", "about")
    return head, port, hold
