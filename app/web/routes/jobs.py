"""Jobs: taken in, and shown to the counter."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import groupby
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query
from sqlmodel import Session, col, select
from starlette.requests import Request
from starlette.responses import Response

from app.forms.base import is_row_id
from app.forms.jobs import CustomerChoice, NewJobForm
from app.models.customer import Customer
from app.models.head import Head
from app.models.job import Job
from app.queries.customers import customers_by_id, find_customers
from app.queries.history import history, is_earlier
from app.queries.jobs import job_numbered, places_in_use, show_job, summary
from app.services.jobs import take_in_job
from app.services.owned import the_job
from app.services.write import log_head
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.days import today
from app.web.deps import LARGEST_ID, DatabaseDep, JobNumber, SentDep
from app.web.job_page import show_page
from app.web.render import page
from app.workflow.kinds import CustomerKind
from app.workflow.permissions import Verb
from app.workflow.words import day_words

router = APIRouter()


@router.get("/jobs/new", dependencies=[may(Verb.TAKE_IN)])
def new(
    request: Request,
    db: DatabaseDep,
    comeback_of: Annotated[str, Query(max_length=12)] = "",
    head: Annotated[int | None, Query(ge=1, le=LARGEST_ID)] = None,
    customer: Annotated[int | None, Query(ge=1, le=LARGEST_ID)] = None,
) -> Response:
    raw = {"kind": CustomerKind.NAMED, "heads": "one", "unit": request.state.shop.unit}
    with db.read() as session:
        before = job_numbered(session, comeback_of) if comeback_of else None
        if before is not None:
            raw |= {"comeback_of": before.number, "kind": before.customer_kind}
            customer = before.customer_id
            raw |= _heads_again(session, before, head)
        known = session.get(Customer, customer) if customer else None
    if known is not None and known.emptied_at is None:
        raw |= {"customer": known.name, "customer_id": str(known.id), "phone": known.phone}
    return _new_page(request, db, NewJobForm.showing(raw))


@router.post("/jobs/new", dependencies=[may(Verb.TAKE_IN)])
def create(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    if "find" in sent.fields:
        return _new_page(request, db, NewJobForm.showing(sent.fields))
    form = NewJobForm(sent.fields, today=today(request))
    return answer(
        request,
        sent,
        form,
        lambda tx: take_in_job(tx, form),
        then=lambda job: addresses.tag(job.number),
        said=lambda job: f"{job.number} is taken in. Print its tag and wire it to the head.",
        way_on=lambda job: ("Tag to print", addresses.tag(job.number)),
        show=lambda status: _new_page(request, db, form, status),
    )


@router.get("/jobs/{number}", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    with db.read() as session:
        view = show_job(session, the_job(session, number), today(request))
    return show_page(request, view, summary(view))


@router.get("/jobs/{number}/history", dependencies=[may(Verb.READ)])
def list_history(
    request: Request,
    db: DatabaseDep,
    number: JobNumber,
    before: Annotated[int | None, Query(ge=1, le=LARGEST_ID)] = None,
) -> Response:
    with db.read() as session:
        job = the_job(session, number)
        events = history(session, job.id, before)
        earlier = bool(events) and is_earlier(session, job.id, events[-1].id)
        head = log_head(session)
    zone = ZoneInfo(request.state.shop.zone)
    days = [
        (day, list(on_it)) for day, on_it in groupby(events, lambda e: e.at.astimezone(zone).date())
    ]
    return page(
        request,
        "jobs/history.html",
        nav="counter",
        job=job,
        days=days,
        before=before,
        earlier=events[-1].id if earlier else None,
        log_head=head,
    )


def _heads_again(session: Session, before: Job, chosen: int | None) -> dict[str, str]:
    """The heads of the first job, or the one that came back, as the form names them."""
    heads = session.exec(select(Head).where(Head.job_id == before.id).order_by(col(Head.nth))).all()
    again = [each for each in heads if chosen in (None, each.id)]
    names = tuple(each.name for each in again)
    known = {("",): "one", ("left",): "left", ("right",): "right", ("left", "right"): "both"}
    raw = {"heads": known.get(names, "named")}
    if names not in known:
        raw["head_names"] = ", ".join(names)
    if chosen is not None and len(again) == 1:
        raw["comeback_head"] = str(chosen)
    return raw


def _new_page(
    request: Request, db: DatabaseDep, form: CustomerChoice, status: int = 200
) -> Response:
    typed = form.raw.get("customer", "") or form.raw.get("phone", "")
    chosen = form.raw.get("customer_id", "")
    with db.read() as session:
        found = find_customers(session, typed)
        if is_row_id(chosen) and not any(str(each.id) == chosen for each in found):
            found = [*customers_by_id(session, [int(chosen)]), *found]
        places = places_in_use(session)
    day = today(request)
    return page(
        request,
        "jobs/new.html",
        status,
        nav="counter",
        form=form,
        found=found,
        typed=typed,
        chosen=chosen,
        places=places,
        promises=_promises(day),
    )


def _promises(day: date) -> list[tuple[str, ...]]:
    """No promise, today, tomorrow, the next Friday after, and any other day."""
    friday = day + timedelta(days=(4 - day.weekday()) % 7)
    if friday <= day + timedelta(days=1):
        friday += timedelta(days=7)
    days = [(day, "today"), (day + timedelta(days=1), "tomorrow"), (friday, "Friday")]
    told = [(each.isoformat(), words, _short(each)) for each, words in days]
    return [("", "none"), *told, ("other", "other")]


def _short(day: date) -> str:
    """``Fri 27 Nov``; told from the day before, or today would only be called today."""
    weekday, _, rest = day_words(day, day - timedelta(days=1)).partition(" ")
    return f"{weekday[:3]} {rest}"
