"""Out and in, for the owner: everything in one file, lists brought in, keys of programs."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from app.config import Settings
from app.db import Database
from app.keeping.exporter import (
    begin_export,
    exports_folder,
    finished_export,
    read_export_state,
    remove_exports,
)
from app.services.exports import note_export
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import done
from app.web.deps import DatabaseDep, Sent, SentDep, SettingsDep, writing
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter(prefix="/out-and-in")
OWNERS_ONLY = may(Verb.EXPORT)
HERE = "/out-and-in"


@router.get("", dependencies=[OWNERS_ONLY])
def show(request: Request, settings: SettingsDep) -> Response:
    return _page(request, settings, "exports/show.html")


@router.get("/progress", dependencies=[may(Verb.EXPORT, polls=True)])
def progress(request: Request, settings: SettingsDep) -> Response:
    return _page(request, settings, "exports/_standing.html")


@router.post("/export", dependencies=[OWNERS_ONLY])
async def create(
    request: Request, db: DatabaseDep, settings: SettingsDep, sent: SentDep
) -> Response:
    return await run_in_threadpool(_begin, request, db, settings, sent)


@router.get("/export", dependencies=[OWNERS_ONLY])
def download(settings: SettingsDep) -> Response:
    file = finished_export(settings)
    if file is None:
        raise NotFound("There is no finished export here. Begin one, or look again in a while.")
    # Packed already: to pack it once more would take long and save nothing.
    headers = {"Content-Encoding": "identity"}
    return FileResponse(file, media_type="application/zip", filename=file.name, headers=headers)


@router.post("/export/remove", dependencies=[OWNERS_ONLY])
def remove(request: Request, settings: SettingsDep) -> Response:
    if read_export_state(settings).is_under_way:
        return done(request, HERE, "It is still being written. Remove it once it is finished.")
    remove_exports(settings)
    return done(request, HERE, "Removed from this PC. The records are as they were.")


def _begin(request: Request, db: Database, settings: Settings, sent: Sent) -> Response:
    if read_export_state(settings).is_under_way:
        return done(request, HERE, "An export is being written already.")
    with writing(request, sent) as tx:
        note_export(tx)
    request.app.state.exporting = begin_export(settings, db)
    return done(request, HERE)


def _page(request: Request, settings: Settings, template: str) -> Response:
    return page(
        request,
        template,
        nav="office",
        state=read_export_state(settings),
        folder=exports_folder(settings),
    )
