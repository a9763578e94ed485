"""One setting: shown, read back after locking, ended."""

from __future__ import annotations

from fastapi import APIRouter
from sqlmodel import Session
from starlette.requests import Request
from starlette.responses import Response

from app.forms.settings import AchievedForm, EndSettingForm
from app.models.crib import Fixture
from app.models.job import Job
from app.models.setting import Setting
from app.services.settings import end_setting, record_achieved
from app.services.write import NotFound
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.setting_page import setting_page
from app.workflow.kinds import Unit
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/settings/{setting_id}", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, setting_id: RowId) -> Response:
    return setting_page(request, db, setting_id)


@router.post("/settings/{setting_id}/achieved", dependencies=[may(Verb.MAKE_SETTING)])
def update(request: Request, db: DatabaseDep, setting_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        form = AchievedForm(sent.fields, _read_in(session, setting_id))
    return answer(
        request,
        sent,
        form,
        lambda tx: record_achieved(tx, setting_id, form),
        then=lambda setting: addresses.setting(setting.id),
        show=lambda status: setting_page(request, db, setting_id, form, status),
    )


@router.post("/settings/{setting_id}/end", dependencies=[may(Verb.MAKE_SETTING)])
def end(request: Request, db: DatabaseDep, setting_id: RowId, sent: SentDep) -> Response:
    form = EndSettingForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: end_setting(tx, setting_id, form.because),
        then=lambda setting: addresses.setting(setting.id),
        said="The setting is over. Its positions that are not bored can be planned again.",
        show=lambda status: setting_page(request, db, setting_id, status=status, end_form=form),
    )


def _read_in(session: Session, setting_id: int) -> Unit:
    """The unit in which the fixture of a setting reads."""
    setting = session.get(Setting, setting_id)
    if setting is None:
        raise NotFound("There is no such setting.")
    if setting.fixture_id is not None:
        return session.get_one(Fixture, setting.fixture_id).unit
    return session.get_one(Job, setting.job_id).unit
