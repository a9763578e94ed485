"""A seller's list of sizes, pasted or from a file: shown line by line before any of it is kept."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.size_lists import SizeListForm
from app.queries.ring_sizes import known_sizes, suppliers
from app.services.ring_sizes import import_sizes
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, SentWithAListDep
from app.web.list_files import with_file
from app.web.render import page
from app.workflow.permissions import Verb
from app.workflow.words import counted

BASE = "/shelf/sizes"
router = APIRouter(prefix=f"{BASE}/import", dependencies=[may(Verb.EDIT_SHELF)])


@router.get("")
def new(request: Request, db: DatabaseDep) -> Response:
    return _page(request, db, SizeListForm.showing({"unit": request.state.shop.unit.value}))


@router.post("")
def create(request: Request, db: DatabaseDep, sent: SentWithAListDep) -> Response:
    fields, fault = with_file(sent)
    with db.read() as session:
        known = known_sizes(session)
    form = SizeListForm(fields, unit=request.state.shop.unit, known=known)
    if fault:
        form.errors.pop("list", None)
        form.wrong("list", fault)
    if not form.is_to_keep or not form.ok:
        # Looking changes nothing: a list without a fault is shown, and that is the answer.
        return _page(request, db, form, 200 if form.ok else 422)
    count = len(form.good)
    return answer(
        request,
        sent,
        form,
        lambda tx: import_sizes(tx, form),
        then=lambda _row: BASE,
        show=lambda status: _page(request, db, form, status),
        said=f"{counted(count, 'size')} from the list are on it; all nominal, none measured."
        if count > 1
        else "One size from the list is on it; nominal, not measured.",
    )


def _page(request: Request, db: Database, form: SizeListForm, status: int = 200) -> Response:
    with db.read() as session:
        known = suppliers(session)
    return page(
        request,
        "ring_sizes/import.html",
        status,
        nav="shelf",
        form=form,
        columns=SizeListForm.columns,
        lines=form.lines,
        good=form.good,
        bad=form.bad,
        suppliers=known,
    )
