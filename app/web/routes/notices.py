"""Notices given to a customer about heads that stay here."""

from __future__ import annotations

from datetime import timedelta

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.notices import NoticeForm
from app.queries.notices import notices_of
from app.queries.shop_rules import current_rules
from app.services.notices import give_notice
from app.services.owned import the_job
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.days import today
from app.web.deps import DatabaseDep, JobNumber, SentDep
from app.web.render import page
from app.workflow.kinds import NoticeHow, NoticeOf
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/jobs/{number}/notices", dependencies=[may(Verb.END_JOB)])
def new(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, None)


@router.post("/jobs/{number}/notices", dependencies=[may(Verb.END_JOB)])
def create(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = NoticeForm(sent.fields, today=today(request))
    return answer(
        request,
        sent,
        form,
        lambda tx: give_notice(tx, number, form),
        then=lambda _row: f"{addresses.job(number)}/notices",
        said="Written down.",
        show=lambda status: _page(request, db, number, form, status),
    )


def _page(
    request: Request, db: Database, number: str, form: NoticeForm | None, status: int = 200
) -> Response:
    day = today(request)
    with db.read() as session:
        job = the_job(session, number)
        given = notices_of(session, job)
        rules = current_rules(session)
        until = day + timedelta(days=rules.whole("notice_days"))
        words, days = rules.text("notice_words"), rules.shown("notice_days")
    shown = form or NoticeForm.showing({"given_on": day.isoformat(), "until": until.isoformat()})
    return page(
        request,
        "notices/new.html",
        status,
        nav="counter",
        job=job,
        given=given,
        form=shown,
        names=NoticeForm.names,
        kinds=[(each.value, each.screen) for each in NoticeOf],
        hows=[(each.value, each.screen) for each in NoticeHow],
        words=words,
        days=days,
    )
