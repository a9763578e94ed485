"""One's own PIN."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from app.forms.people import OwnPinForm
from app.services.people import change_own_pin
from app.services.write import Refused
from app.web.access import may
from app.web.answers import answer
from app.web.deps import Sent, SentDep
from app.web.pins import address, checked, hashed, without_mark
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/my-pin", dependencies=[may(Verb.CHANGE_OWN_PIN)])
def edit(request: Request) -> Response:
    return _page(request, OwnPinForm.showing())


@router.post("/my-pin", dependencies=[may(Verb.CHANGE_OWN_PIN)])
async def update(request: Request, sent: SentDep) -> Response:
    form = OwnPinForm(sent.fields)
    old_hash = pin_hash = ""
    if form.ok:
        try:
            old_hash = await checked(request, request.state.person.id, form.old)
            pin_hash = await hashed(request, form.pin)
        except Refused as no:
            form.wrong("old_pin", no.message)
    return await run_in_threadpool(_change, request, sent, form, old_hash, pin_hash)


def _change(
    request: Request, sent: Sent, form: OwnPinForm, old_hash: str, pin_hash: str
) -> Response:
    return answer(
        request,
        without_mark(sent),
        form,
        lambda tx: change_own_pin(
            tx, old_hash, pin_hash, address=address(request), sign_in_id=request.state.sign_in.id
        ),
        then=lambda _: "/",
        show=lambda status: _page(request, form, status),
        said="Your PIN is changed. Your other devices sign in again.",
    )


def _page(request: Request, form: OwnPinForm, status: int = 200) -> Response:
    return page(request, "people/my_pin.html", status, form=form)
