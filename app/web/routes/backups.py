"""Backups, for the owner: how they stand, where they go, one more now."""

from __future__ import annotations

from pathlib import Path

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from app.config import Settings
from app.db import Database, now
from app.forms.backups import BackupFolderForm
from app.keeping.backups import BY_HAND, BackupFault, Made, make_backup, shop_mark
from app.keeping.folder import (
    FolderFault,
    choose_folder,
    is_same_disk,
    prepare_backup_folder,
    read_state,
)
from app.keeping.view import backups_view, why_words
from app.models.shop import Shop
from app.services.backups import note_backup_folder
from app.services.write import Write
from app.threads import slow_work
from app.web.access import may
from app.web.answers import answer, done
from app.web.deps import DatabaseDep, SentDep, SettingsDep
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter(prefix="/backups")
OWNERS_ONLY = may(Verb.EXPORT)
SAME_DISK = (
    "This folder is on the same disk as the records: when that disk dies, both are gone. Choose a "
    "folder on another disk, or say that it is to be so."
)


@router.get("", dependencies=[OWNERS_ONLY])
def show(request: Request, db: DatabaseDep, settings: SettingsDep) -> Response:
    form = BackupFolderForm.showing({"folder": read_state(settings).folder})
    return _page(request, db, settings, form)


@router.post("/folder", dependencies=[OWNERS_ONLY])
async def choose(
    request: Request, db: DatabaseDep, settings: SettingsDep, sent: SentDep
) -> Response:
    form = BackupFolderForm(sent.fields)
    if form.ok and form.folder:
        # A network share may take its time to answer.
        await slow_work(_try_folder, db, settings, form)

    def change(tx: Write) -> Shop:
        shop = note_backup_folder(tx, is_elsewhere=bool(form.folder))
        choose_folder(settings, form.folder)
        return shop

    return await run_in_threadpool(
        answer,
        request,
        sent,
        form,
        change,
        then=lambda _: "/backups",
        show=lambda status: _page(request, db, settings, form, status),
        said="Kept. The next backup goes there; make one now to see it work."
        if form.ok and form.folder
        else "Kept. Backups stay on this PC; they are lost with its disk.",
    )


@router.post("/now", dependencies=[OWNERS_ONLY])
async def create(request: Request, db: DatabaseDep, settings: SettingsDep) -> Response:
    try:
        made: Made = await slow_work(make_backup, db, settings, BY_HAND)
    except BackupFault as fault:
        return done(request, "/backups", f"No backup was made. {fault}.")
    if made.fault:
        return done(request, "/backups", f"{made.fault}. This one was kept on this PC.")
    return done(request, "/backups", f"Backed up: {made.copy.path.name}")


def _try_folder(db: Database, settings: Settings, form: BackupFolderForm) -> None:
    folder = Path(form.folder)
    with db.read() as session:
        mark = shop_mark(session)
    try:
        prepare_backup_folder(folder, mark, settings)
    except FolderFault as no:
        form.wrong("folder", str(no))
        return
    if is_same_disk(folder, settings) and not form.confirmed("same_disk"):
        form.wrong("confirm_same_disk", SAME_DISK)


def _page(
    request: Request,
    db: Database,
    settings: Settings,
    form: BackupFolderForm,
    status: int = 200,
) -> Response:
    with db.read() as session:
        view = backups_view(session, settings, now())
    return page(
        request,
        "backups/show.html",
        status,
        nav="office",
        backups=view,
        form=form,
        why_words=why_words,
        is_demo=settings.demo,
    )
