"""The setting plan of a job, and the settings made from it."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.settings import SettingForm
from app.services.new_settings import make_setting
from app.services.owned import open_job
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, JobNumber, SentDep
from app.web.plan_page import plan_page
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/jobs/{number}/plan", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return plan_page(request, db, number)


@router.post("/jobs/{number}/settings", dependencies=[may(Verb.MAKE_SETTING)])
def create(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = SettingForm(sent.fields, sent.lists.get("port", []))
    return answer(
        request,
        sent,
        form,
        lambda tx: make_setting(tx, open_job(tx, number), form),
        then=lambda setting: addresses.setting(setting.id),
        show=lambda status: plan_page(request, db, number, form, status),
    )
