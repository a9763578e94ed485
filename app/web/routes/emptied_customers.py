"""Emptying a customer: who they are goes, what was done for them stays."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.customers import EmptyingForm
from app.models.customer import Customer
from app.queries.customers import customers_by_id, open_numbers
from app.services.customers import empty_customer
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/customers/{customer_id}/empty", dependencies=[may(Verb.EMPTY_CUSTOMER)])
def ask(request: Request, db: DatabaseDep, customer_id: RowId) -> Response:
    return _page(request, db, customer_id, EmptyingForm.showing())


@router.post("/customers/{customer_id}/empty", dependencies=[may(Verb.EMPTY_CUSTOMER)])
def empty(request: Request, db: DatabaseDep, customer_id: RowId, sent: SentDep) -> Response:
    form = EmptyingForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: empty_customer(tx, customer_id, form),
        then=lambda _row: "/counter",
        said="The customer is emptied. Their jobs and figures stay.",
        show=lambda status: _page(request, db, customer_id, form, status),
    )


def _page(
    request: Request, db: DatabaseDep, customer_id: int, form: EmptyingForm, status: int = 200
) -> Response:
    with db.read() as session:
        customer = session.get(Customer, customer_id)
        found = customers_by_id(session, [customer_id])
        open_ones = open_numbers(session, customer_id)
    if customer is None or not found:
        raise NotFound("There is no such customer.")
    return page(
        request,
        "customers/empty.html",
        status,
        nav="counter",
        customer=customer,
        jobs=found[0].jobs,
        open_numbers=open_ones,
        form=form,
    )
