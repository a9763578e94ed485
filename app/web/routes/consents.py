"""Consent: what the customer agreed to."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.consents import ConsentForm
from app.queries.jobs import JobView, show_job
from app.services.consents import give_consent
from app.services.owned import the_job
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.days import today
from app.web.deps import DatabaseDep, JobNumber, SentDep
from app.web.render import page
from app.workflow.kinds import ConsentHow
from app.workflow.permissions import Verb
from app.workflow.words import money

router = APIRouter()


@router.get("/jobs/{number}/consent", dependencies=[may(Verb.RECORD_CONSENT)])
def new(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, None)


@router.post("/jobs/{number}/consent", dependencies=[may(Verb.RECORD_CONSENT)])
def create(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = ConsentForm(sent.fields, today=today(request))
    return answer(
        request,
        sent,
        form,
        lambda tx: give_consent(tx, number, form),
        then=lambda _row: addresses.job(number),
        said="Consent is on record.",
        show=lambda status: _page(request, db, number, form, status),
    )


def _page(
    request: Request, db: DatabaseDep, number: str, form: ConsentForm | None, status: int = 200
) -> Response:
    with db.read() as session:
        view = show_job(session, the_job(session, number), today(request))
    shown = form or ConsentForm.showing(_proposed(view) | {"given_on": today(request)})
    return page(
        request,
        "consents/new.html",
        status,
        nav="counter",
        job=view.job,
        view=view,
        form=shown,
        standing=_standing(view),
    )


def _proposed(view: JobView) -> dict[str, str]:
    return {
        "name": view.customer.name if view.customer else "",
        "limit": money(view.total) if view.total > 0 else "",
    }


def _standing(view: JobView) -> dict[str, str] | None:
    """A trade customer's standing authority, ready to be sent with one touch."""
    customer = view.customer
    if customer is None or not customer.is_trade:
        return None
    limit = customer.standing_limit
    if limit == 0:
        return None
    return {
        "name": customer.name,
        "how": ConsentHow.STANDING.value,
        "limit": "" if limit is None else money(limit),
    }
