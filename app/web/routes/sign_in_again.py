"""A form that came after its sign-in had ended: a PIN, then what was typed is sent on."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from app.forms.sign_in import ResumeForm
from app.services.write import Refused
from app.web.access import current, introduce, keep_token, local_path
from app.web.deps import SentDep
from app.web.ended import show_ended
from app.web.pins import signed_in_with
from app.web.render import page

router = APIRouter()


@router.post("/sign-in-again")
async def create(request: Request, sent: SentDep) -> Response:
    """Sign in and show what was typed; one more touch sends it, as whoever signed in."""
    form = ResumeForm(sent.fields)
    if form.ok and form.person_id is not None:
        try:
            token = await signed_in_with(request, form.person_id, form.pin)
        except Refused as no:
            form.wrong(no.field or "form", no.message)
        else:
            answer = await run_in_threadpool(_kept_page, request, form, token)
            keep_token(request, answer, token)
            return answer
    return await run_in_threadpool(show_ended, request, form, 422)


def _kept_page(request: Request, form: ResumeForm, token: str) -> Response:
    found = current(request, token)
    if found is not None:
        introduce(request, found)
    action = local_path(request, form.action, "POST")
    return page(request, "sign_in/kept.html", form=form, action=action)
