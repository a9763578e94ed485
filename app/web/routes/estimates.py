"""A job's estimate: what the price list proposes by what was found, and the estimate on paper."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.price_items import EstimateForm
from app.queries.jobs import show_job
from app.queries.price_items import proposed, without_price
from app.services.owned import the_job
from app.services.price_items import put_on_estimate
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.days import today
from app.web.deps import DatabaseDep, JobNumber, SentDep
from app.web.render import page
from app.web.sheet_page import estimate_paper
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/jobs/{number}/estimate", dependencies=[may(Verb.EDIT_PRICES)])
def show(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, EstimateForm.showing())


@router.post("/jobs/{number}/estimate", dependencies=[may(Verb.EDIT_PRICES)])
def create(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = EstimateForm(sent.fields)
    count = len(form.chosen)
    return answer(
        request,
        sent,
        form,
        lambda tx: put_on_estimate(tx, number, form),
        then=lambda _row: f"{addresses.job(number)}#money",
        show=lambda status: _page(request, db, number, form, status),
        said="One line is on the estimate." if count == 1 else f"{count} lines on the estimate.",
    )


@router.get("/jobs/{number}/estimate/paper", dependencies=[may(Verb.PRINT_SHEET)])
def paper(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    with db.read() as session:
        return estimate_paper(request, session, the_job(session, number))


def _page(request: Request, db: Database, number: str, form: Form, status: int = 200) -> Response:
    with db.read() as session:
        job = the_job(session, number)
        view = show_job(session, job, today(request))
        sheets = [each.sheet for each in view.heads]
        found = proposed(session, sheets, view.lines)
        unpriced = without_price(session, sheets)
    return page(
        request,
        "estimates/show.html",
        status,
        nav="counter",
        job=job,
        view=view,
        proposed=found,
        unpriced=unpriced,
        added=sum(one.amount - (one.instead_of.amount if one.instead_of else 0) for one in found),
        form=form,
    )
