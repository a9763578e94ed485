"""Price lines of a job, with their total against what was agreed."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.base import Form
from app.forms.price_lines import PriceLineForm
from app.queries.jobs import show_job
from app.services.owned import the_job
from app.services.price_lines import add_price_line, restore_price_line, void_price_line
from app.web import addresses
from app.web.access import may
from app.web.answers import Undo, answer
from app.web.days import today
from app.web.deps import DatabaseDep, JobNumber, RowId, SentDep
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/jobs/{number}/price-lines", dependencies=[may(Verb.EDIT_PRICES)])
def new(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, PriceLineForm.showing())


@router.post("/jobs/{number}/price-lines", dependencies=[may(Verb.EDIT_PRICES)])
def create(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = PriceLineForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: add_price_line(tx, number, form),
        then=lambda _row: f"{addresses.job(number)}#money",
        said=lambda line: f"Added: {line.text}.",
        undo=lambda line: Undo(f"/jobs/{number}/price-lines/{line.id}/strike"),
        show=lambda status: _page(request, db, number, form, status),
    )


@router.post("/jobs/{number}/price-lines/{line_id}/strike", dependencies=[may(Verb.EDIT_PRICES)])
def strike(
    request: Request, db: DatabaseDep, number: JobNumber, line_id: RowId, sent: SentDep
) -> Response:
    form = Form(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: void_price_line(tx, number, line_id),
        then=lambda _row: f"{addresses.job(number)}#money",
        said=lambda line: f"Struck: {line.text}.",
        undo=lambda line: Undo(f"/jobs/{number}/price-lines/{line.id}/put-back"),
        show=lambda status: _page(request, db, number, form, status),
    )


@router.post("/jobs/{number}/price-lines/{line_id}/put-back", dependencies=[may(Verb.EDIT_PRICES)])
def put_back(
    request: Request, db: DatabaseDep, number: JobNumber, line_id: RowId, sent: SentDep
) -> Response:
    form = Form(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: restore_price_line(tx, number, line_id),
        then=lambda _row: f"{addresses.job(number)}#money",
        said=lambda line: f"Counts again: {line.text}.",
        show=lambda status: _page(request, db, number, form, status),
    )


def _page(
    request: Request, db: DatabaseDep, number: str, form: Form, status: int = 200
) -> Response:
    with db.read() as session:
        view = show_job(session, the_job(session, number), today(request))
    return page(
        request, "price_lines/new.html", status, nav="counter", job=view.job, view=view, form=form
    )
