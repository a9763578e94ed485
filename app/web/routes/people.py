"""Who can sign in: the owner adds, renames, gives roles and PINs, retires."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database, now
from app.forms.base import Form
from app.forms.people import NewPersonForm, NewPinForm, PersonForm
from app.models.person import Person
from app.queries.people import list_people, list_retired
from app.queries.sign_in import live_sign_ins
from app.services.people import (
    NOT_THERE,
    add_person,
    reset_pin,
    retire,
    sign_out_everywhere,
    update_person,
)
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, Sent, SentDep
from app.web.pins import hashed, without_mark
from app.web.render import page
from app.workflow.permissions import Verb
from app.workflow.words import Role

router = APIRouter()
OWNERS_ONLY = may(Verb.EDIT_PEOPLE)


@router.get("/people", dependencies=[OWNERS_ONLY])
def list_all(request: Request, db: DatabaseDep) -> Response:
    return _list_page(request, db, NewPersonForm.showing())


@router.post("/people", dependencies=[OWNERS_ONLY])
async def create(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    form = NewPersonForm(sent.fields)
    pin_hash = await hashed(request, form.pin) if form.ok else ""
    return await run_in_threadpool(_add, request, db, sent, form, pin_hash)


@router.get("/people/{person_id}/edit", dependencies=[OWNERS_ONLY])
def edit(request: Request, db: DatabaseDep, person_id: RowId) -> Response:
    return _edit_page(request, db, person_id)


@router.post("/people/{person_id}", dependencies=[OWNERS_ONLY])
def update(request: Request, db: DatabaseDep, person_id: RowId, sent: SentDep) -> Response:
    form = PersonForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: update_person(
            tx, person_id, form.name, form.role or Role.SERVICE_WRITER, form.row_version
        ),
        then=lambda _: "/people",
        show=lambda status: _edit_page(request, db, person_id, status, form=form),
        said=lambda person: f"{person.name} is {person.role.screen} from the next page on.",
    )


@router.post("/people/{person_id}/pin", dependencies=[OWNERS_ONLY])
async def update_pin(
    request: Request, db: DatabaseDep, person_id: RowId, sent: SentDep
) -> Response:
    form = NewPinForm(sent.fields)
    pin_hash = await hashed(request, form.pin) if form.ok else ""
    return await run_in_threadpool(_set_pin, request, db, person_id, sent, form, pin_hash)


@router.post("/people/{person_id}/sign-ins", dependencies=[OWNERS_ONLY])
def end_sign_ins(request: Request, db: DatabaseDep, person_id: RowId, sent: SentDep) -> Response:
    form = Form(sent.fields)
    here: int = request.state.sign_in.id
    return answer(
        request,
        sent,
        form,
        lambda tx: sign_out_everywhere(tx, person_id, but=here),
        then=lambda _: f"/people/{person_id}/edit",
        show=lambda status: _edit_page(request, db, person_id, status, retire_form=form),
        said=lambda person: (
            f"{person.name} signs in again on every "
            f"{'other ' if person_id == request.state.person.id else ''}device."
        ),
    )


@router.post("/people/{person_id}/retire", dependencies=[OWNERS_ONLY])
def remove(request: Request, db: DatabaseDep, person_id: RowId, sent: SentDep) -> Response:
    form = Form(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: retire(tx, person_id),
        then=lambda _: "/people",
        show=lambda status: _edit_page(request, db, person_id, status, retire_form=form),
        said=lambda person: f"{person.name} can no longer sign in. What they did keeps their name.",
    )


def _add(
    request: Request, db: Database, sent: Sent, form: NewPersonForm, pin_hash: str
) -> Response:
    return answer(
        request,
        without_mark(sent),
        form,
        lambda tx: add_person(tx, form.name, form.role or Role.SERVICE_WRITER, pin_hash),
        then=lambda _: "/people",
        show=lambda status: _list_page(request, db, form, status),
        said=lambda person: f"{person.name} can sign in now.",
    )


def _set_pin(
    request: Request, db: Database, person_id: int, sent: Sent, form: NewPinForm, pin_hash: str
) -> Response:
    return answer(
        request,
        without_mark(sent),
        form,
        lambda tx: reset_pin(tx, person_id, pin_hash),
        then=lambda _: "/people",
        show=lambda status: _edit_page(request, db, person_id, status, pin_form=form),
        said=lambda person: f"{person.name} has a new PIN and signs in again on every device.",
    )


def _list_page(request: Request, db: Database, form: NewPersonForm, status: int = 200) -> Response:
    with db.read() as session:
        return page(
            request,
            "people/list.html",
            status,
            nav="office",
            form=form,
            people=list_people(session),
            retired=list_retired(session),
            roles=[(role.value, role.screen) for role in Role],
        )


def _edit_page(
    request: Request,
    db: Database,
    person_id: int,
    status: int = 200,
    *,
    form: PersonForm | None = None,
    pin_form: NewPinForm | None = None,
    retire_form: Form | None = None,
) -> Response:
    with db.read() as session:
        who = session.get(Person, person_id)
        if who is None or who.retired_at is not None:
            raise NotFound(NOT_THERE)
        known = {"name": who.name, "role": who.role.value, "row_version": who.row_version}
        return page(
            request,
            "people/edit.html",
            status,
            nav="office",
            who=who,
            sign_ins=live_sign_ins(session, who.id, now()),
            form=form or PersonForm.showing(known),
            pin_form=pin_form or NewPinForm.showing(),
            retire_form=retire_form or Form.showing(),
            roles=[(role.value, role.screen) for role in Role],
        )
