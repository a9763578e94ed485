"""Names to touch, then a PIN; someone else takes over; signing out."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from app.db import Database
from app.forms.sign_in import PinForm
from app.models.person import Person
from app.models.shop import Shop
from app.queries.people import has_owner, list_people
from app.services.sign_in import NOBODY, sign_out
from app.services.write import NotFound, Refused, Write
from app.web.access import drop_token, keep_token, local_path, token
from app.web.answers import done
from app.web.deps import DatabaseDep, RowId, SentDep, SettingsDep
from app.web.pins import signed_in_with
from app.web.render import page

router = APIRouter()


@router.get("/sign-in")
def list_names(
    request: Request, db: DatabaseDep, settings: SettingsDep, next: str = ""
) -> Response:
    with db.read() as session:
        if not has_owner(session):
            return RedirectResponse("/first-owner", status_code=303)
        request.state.shop = session.get(Shop, 1)
        after = local_path(request, next)
        return page(
            request,
            "sign_in/list.html",
            people=[(who, _to(f"/sign-in/{who.id}", after)) for who in list_people(session)],
            demo_sign_ins=settings.demo_sign_ins if settings.demo else (),
        )


@router.get("/sign-in/{person_id}")
def new(request: Request, db: DatabaseDep, person_id: RowId, next: str = "") -> Response:
    return _pin_page(request, db, person_id, PinForm.showing({"next": next}))


@router.post("/sign-in/{person_id}")
async def create(request: Request, db: DatabaseDep, person_id: RowId, sent: SentDep) -> Response:
    form = PinForm(sent.fields)
    if form.ok:
        try:
            new_one = await signed_in_with(request, person_id, form.pin)
        except NotFound:
            raise
        except Refused as no:
            form.wrong("pin", no.message)
        else:
            answer = done(request, local_path(request, form.raw.get("next", "")) or "/")
            keep_token(request, answer, new_one)
            return answer
    return await run_in_threadpool(_pin_page, request, db, person_id, form, 422)


@router.post("/sign-out")
def remove(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    held = token(request)
    if held:
        with db.write() as session:
            sign_out(Write(session, by=None), held)
    after = local_path(request, sent.fields.get("next", ""))
    answer = done(request, _to("/sign-in", after))
    drop_token(request, answer)
    return answer


def _pin_page(
    request: Request, db: Database, person_id: int, form: PinForm, status: int = 200
) -> Response:
    with db.read() as session:
        person = session.get(Person, person_id)
        if person is None or person.retired_at is not None:
            raise NotFound(NOBODY)
        request.state.shop = session.get(Shop, 1)
        after = local_path(request, form.raw.get("next", ""))
        return page(
            request,
            "sign_in/new.html",
            status,
            form=form,
            who=person,
            after=after,
            others=_to("/sign-in", after),
        )


def _to(url: str, after: str) -> str:
    return f"{url}?next={quote(after, safe='/')}" if after else url
