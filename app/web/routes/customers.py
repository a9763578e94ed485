"""Customers: found while typing, mended, and put to a job."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from app.forms.customers import CustomerForm
from app.forms.jobs import CustomerChoice
from app.models.customer import Customer
from app.queries.customers import find_customers
from app.services.customers import set_customer, update_customer
from app.services.owned import the_job
from app.services.write import NotFound
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, JobNumber, RowId, SentDep
from app.web.render import page
from app.workflow.permissions import Verb
from app.workflow.words import money

router = APIRouter()


@router.get("/customers/find", dependencies=[may(Verb.READ)])
def find(
    request: Request,
    db: DatabaseDep,
    customer: Annotated[str, Query(max_length=120)] = "",
    customer_id: Annotated[str, Query(max_length=12)] = "",
) -> Response:
    with db.read() as session:
        found = find_customers(session, customer)
    return page(
        request, "customers/_found.html", found=found, typed=customer.strip(), chosen=customer_id
    )


@router.get("/customers/{customer_id}/edit", dependencies=[may(Verb.EDIT_CUSTOMER)])
def edit(request: Request, db: DatabaseDep, customer_id: RowId, job: str = "") -> Response:
    with db.read() as session:
        customer = _known(session.get(Customer, customer_id))
    limit = customer.standing_limit
    form = CustomerForm.showing(
        {
            "name": customer.name,
            "phone": customer.phone,
            "second_phone": customer.second_phone,
            "email": customer.email,
            "is_trade": "yes" if customer.is_trade else "",
            "standing_limit": None if limit is None else money(limit),
            "note": customer.note,
            "job": job[:12],
        }
    )
    return _edit_page(request, db, customer_id, form)


@router.post("/customers/{customer_id}/edit", dependencies=[may(Verb.EDIT_CUSTOMER)])
def update(request: Request, db: DatabaseDep, customer_id: RowId, sent: SentDep) -> Response:
    form = CustomerForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: update_customer(tx, customer_id, form),
        then=lambda _row: _back(form),
        said="Kept.",
        show=lambda status: _edit_page(request, db, customer_id, form, status),
    )


@router.get("/jobs/{number}/customer", dependencies=[may(Verb.TAKE_IN)])
def choose(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    with db.read() as session:
        job = the_job(session, number)
        now = session.get(Customer, job.customer_id) if job.customer_id else None
    shown = {"kind": job.customer_kind, "customer": now.name if now else ""}
    if now is not None:
        shown |= {"customer_id": str(now.id), "phone": now.phone}
    return _choose_page(request, db, number, CustomerChoice.showing(shown))


@router.post("/jobs/{number}/customer", dependencies=[may(Verb.TAKE_IN)])
def put(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    if "find" in sent.fields:
        return _choose_page(request, db, number, CustomerChoice.showing(sent.fields))
    form = CustomerChoice(_without_the_present(db, number, sent.fields))
    return answer(
        request,
        sent,
        form,
        lambda tx: set_customer(tx, number, form),
        then=lambda job: addresses.job(job.number),
        said="Kept.",
        show=lambda status: _choose_page(request, db, number, form, status),
    )


def _without_the_present(
    db: DatabaseDep, number: str, fields: Mapping[str, str]
) -> Mapping[str, str]:
    """Another name typed wins over the present customer, whom the page opened with as chosen."""
    with db.read() as session:
        job = the_job(session, number)
        now = session.get(Customer, job.customer_id) if job.customer_id else None
    if now is None or fields.get("customer_id") != str(now.id):
        return fields
    if fields.get("customer", "").strip() in ("", now.name):
        return fields
    return {name: value for name, value in fields.items() if name != "customer_id"}


def _known(customer: Customer | None) -> Customer:
    if customer is None or customer.emptied_at is not None:
        raise NotFound("There is no such customer.")
    return customer


def _back(form: CustomerForm) -> str:
    number = form.raw.get("job", "")
    is_number = len(number) <= 12 and number.replace("-", "").isdigit()
    return addresses.job(number) if is_number else addresses.search(form.name)


def _edit_page(
    request: Request, db: DatabaseDep, customer_id: int, form: CustomerForm, status: int = 200
) -> Response:
    with db.read() as session:
        customer = _known(session.get(Customer, customer_id))
    return page(request, "customers/edit.html", status, nav="counter", customer=customer, form=form)


def _choose_page(
    request: Request, db: DatabaseDep, number: str, form: CustomerChoice, status: int = 200
) -> Response:
    typed = form.raw.get("customer", "")
    with db.read() as session:
        job = the_job(session, number)
        found = find_customers(session, typed)
    return page(
        request,
        "customers/choose.html",
        status,
        nav="counter",
        job=job,
        form=form,
        found=found,
        typed=typed,
        chosen=form.raw.get("customer_id", ""),
    )
