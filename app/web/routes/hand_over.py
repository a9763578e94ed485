"""The job leaves the shop: what the gate still asks for, and who takes it."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from sqlmodel import col, select
from starlette.requests import Request
from starlette.responses import Response

from app.forms.signatures import HandOverForm
from app.models.customer import Customer
from app.models.head import Head
from app.queries.jobs import who_of
from app.queries.photos import photos_of
from app.queries.received import counted
from app.queries.shop_rules import current_rules
from app.queries.valve_records import missing_valves
from app.services.hand_over import is_cleaned, leaving
from app.services.owned import the_job
from app.services.sheets import hand_over_and_issue
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, JobNumber, SentDep, SettingsDep
from app.web.places import places_of
from app.web.render import page
from app.web.sheet_page import base_of, drawer
from app.workflow.gates import Gate, closed_by_reason, open_points
from app.workflow.kinds import PhotoOf
from app.workflow.parts import differences
from app.workflow.permissions import Verb
from app.worksheets.facts import load_sheets

router = APIRouter()


@router.get("/jobs/{number}/hand-over", dependencies=[may(Verb.HAND_OVER)])
def new(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, None)


@router.post("/jobs/{number}/hand-over", dependencies=[may(Verb.HAND_OVER)])
def create(
    request: Request, db: DatabaseDep, settings: SettingsDep, number: JobNumber, sent: SentDep
) -> Response:
    form = HandOverForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: hand_over_and_issue(
            tx, the_job(tx.session, number), form, drawer(base_of(request), settings.photos)
        ),
        then=lambda _sheet: addresses.job(number),
        said="Handed over. The head record and the customer's record are issued.",
        way_on=lambda sheet: ("Print the customer's record", f"/sheets/{sheet.id}"),
        show=lambda status: _page(request, db, number, form, status),
    )


def _page(
    request: Request,
    db: DatabaseDep,
    number: str,
    form: HandOverForm | None,
    status: int = 200,
) -> Response:
    with db.read() as session:
        job = the_job(session, number)
        rows = session.exec(select(Head).where(Head.job_id == job.id).order_by(col(Head.nth))).all()
        sheets = load_sheets(session, rows)
        customer = session.get(Customer, job.customer_id) if job.customer_id else None
        parts_differ = differences(
            counted(session, job.id, is_out=False), counted(session, job.id, is_out=True)
        )
        rules = current_rules(session)
        pictures = [
            shown
            for shown in photos_of(session, job)
            if shown.struck_because is None and shown.photo.photo_of is PhotoOf.INTAKE
        ]
    heads: list[dict[str, Any]] = []
    given_up: list[tuple[str, str]] = []
    asked = leaving(sheets.values())
    for head in rows:
        sheet = sheets[head.id]
        if sheet not in asked:
            given_up.append((_name(head), sheet.facts.way_because))
            continue
        heads.append(
            {
                "name": _name(head),
                "open": places_of(open_points(Gate.HAND_OVER, sheet.facts), sheet, number),
                "missing": missing_valves(sheet),
                "id": head.id,
                "is_cleaned": is_cleaned(sheet),
                "not_done": places_of(closed_by_reason(Gate.HAND_OVER, sheet.facts), sheet, number),
            }
        )
    who = who_of(job, customer)
    return page(
        request,
        "hand_over/new.html",
        status,
        nav="counter",
        job=job,
        who=who,
        heads=heads,
        given_up=given_up,
        records=[(head.id, head.name) for head in rows],
        parts_differ=parts_differ,
        is_open=any(head["open"] for head in heads),
        asks_clean=not all(head["is_cleaned"] for head in heads),
        names=HandOverForm.names,
        pictures=pictures,
        texts=[text for text in (rules.text("care_text"), rules.text("warranty_text")) if text],
        form=form or HandOverForm.showing({"collected_by": customer.name if customer else ""}),
    )


def _name(head: Head) -> str:
    return f"{head.name} head" if head.name else f"Head {head.nth}"
