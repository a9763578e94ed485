"""Pictures of a job: taken with the tablet, shown small first, never lost."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from app.config import Settings
from app.db import Database
from app.forms.photos import PhotoForm, StrikePhotoForm
from app.models.job import Job
from app.models.photo import Photo
from app.pictures import NotAPicture, Picture, file_of, keep_picture
from app.queries.jobs import show_job
from app.queries.photos import photos_of
from app.services.owned import the_job
from app.services.photos import add_photos, strike_photo
from app.services.write import NotFound
from app.threads import slow_work
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.days import today
from app.web.deps import DatabaseDep, JobNumber, RowId, SentDep, SentWithFilesDep, SettingsDep
from app.web.job_page import about_choices
from app.web.render import page
from app.workflow.kinds import PhotoOf
from app.workflow.permissions import Verb

router = APIRouter()
# Kept by this browser alone and asked about each time: nothing is shown to who signed out.
KEEP = "private, no-cache"


@router.get("/jobs/{number}/photos", dependencies=[may(Verb.READ)])
def list_photos(
    request: Request, db: DatabaseDep, number: JobNumber, of: str = "", about: str = ""
) -> Response:
    of = of if of in {each.value for each in PhotoOf} else PhotoOf.INTAKE.value
    form = PhotoForm.showing({"photo_of": of, "about": about[:20]})
    return _page(request, db, number, form)


@router.post("/jobs/{number}/photos", dependencies=[may(Verb.TAKE_PICTURE)])
async def create(
    request: Request,
    db: DatabaseDep,
    settings: SettingsDep,
    number: JobNumber,
    sent: SentWithFilesDep,
) -> Response:
    form = PhotoForm(sent.fields)
    pictures: Sequence[Picture] = ()
    await run_in_threadpool(_refuse_unknown, db, number)
    if form.ok:
        try:
            pictures = await slow_work(_keep, sent.files, settings)
        except NotAPicture as no:
            form.wrong("picture", str(no))
    return await run_in_threadpool(
        answer,
        request,
        sent,
        form,
        lambda tx: add_photos(tx, number, form, pictures),
        then=lambda photo: addresses.photos(number, photo.photo_of, form.raw.get("about", "")),
        show=lambda status: _page(request, db, number, form, status),
        said="Kept." if len(sent.files) == 1 else f"{len(sent.files)} pictures kept.",
    )


@router.get("/photos/{photo_id}", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, settings: SettingsDep, photo_id: RowId) -> Response:
    return _file(request, db, settings, photo_id, is_small=False)


@router.get("/photos/{photo_id}/small", dependencies=[may(Verb.READ)])
def show_small(
    request: Request, db: DatabaseDep, settings: SettingsDep, photo_id: RowId
) -> Response:
    return _file(request, db, settings, photo_id, is_small=True)


@router.post("/photos/{photo_id}/take-off", dependencies=[may(Verb.TAKE_PICTURE)])
def strike(request: Request, db: DatabaseDep, photo_id: RowId, sent: SentDep) -> Response:
    form = StrikePhotoForm(sent.fields)
    with db.read() as session:
        photo = session.get(Photo, photo_id)
        if photo is None:
            raise NotFound("There is no such picture.")
        number = session.get_one(Job, photo.job_id).number
    return answer(
        request,
        sent,
        form,
        lambda tx: strike_photo(tx, photo_id, form),
        then=lambda _row: addresses.photos(number),
        show=lambda status: _page(
            request, db, number, PhotoForm.showing(), status, off=(photo_id, form)
        ),
        said="Taken off the pages; it stays in the record.",
    )


def _refuse_unknown(db: Database, number: str) -> None:
    """Before anything is written to the disk."""
    with db.read() as session:
        the_job(session, number)


def _keep(files: Sequence[bytes], settings: Settings) -> list[Picture]:
    return [keep_picture(content, settings.photos) for content in files]


def _file(
    request: Request, db: Database, settings: Settings, photo_id: int, *, is_small: bool
) -> Response:
    with db.read() as session:
        photo = session.get(Photo, photo_id)
    if photo is None:
        raise NotFound("There is no such picture.")
    digest = photo.small_sha256 if is_small else photo.sha256
    mark = f'"{digest}"'
    headers = {"ETag": mark, "Cache-Control": KEEP}
    if mark in request.headers.get("If-None-Match", ""):
        return Response(status_code=304, headers=headers)
    file = file_of(settings.photos, digest)
    if not file.is_file():
        raise NotFound(
            "The file of this picture is not in the data folder any more. A backup may have it."
        )
    return FileResponse(file, media_type="image/jpeg", headers=headers)


def _page(
    request: Request,
    db: Database,
    number: str,
    form: PhotoForm,
    status: int = 200,
    off: tuple[int, StrikePhotoForm] | None = None,
) -> Response:
    with db.read() as session:
        job = the_job(session, number)
        view = show_job(session, job, today(request))
        photos = photos_of(session, job)
    return page(
        request,
        "photos/list.html",
        status,
        nav="counter",
        job=view.job,
        view=view,
        form=form,
        about=about_choices(view),
        steps=[(each.value, each.screen) for each in PhotoOf],
        photos=[shown for shown in photos if shown.struck_because is None],
        taken_off=[shown for shown in photos if shown.struck_because is not None],
        off=off,
    )
