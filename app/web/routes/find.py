"""Finding any job; words, filters, order and page all stand in the address."""

from __future__ import annotations

from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.find import FindForm, Promise, Sort, State
from app.queries.find import Found, find
from app.web.access import may
from app.web.days import today
from app.web.deps import DatabaseDep
from app.web.render import page
from app.workflow.permissions import Verb
from app.workflow.words import Material, Stage

router = APIRouter()


@router.get("/find", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep) -> Response:
    form = FindForm(dict(request.query_params))
    found = Found()
    if form.ok:
        with db.read() as session:
            found = find(session, form, today(request))
    return page(
        request,
        "find/show.html",
        200 if form.ok else 422,
        nav="counter",
        form=form,
        found=found,
        words={"state": State, "stage": Stage, "promise": Promise, "material": Material},
        sorts=Sort,
        next_href=f"/find?{urlencode(form.address(after=str(found.next_after)))}"
        if found.next_after
        else "",
        first_href=f"/find?{urlencode(form.address())}" if form.after else "",
    )
