"""A standard series of seat rings put on the size list in one step."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.ring_sizes import BlanksForm, OversizesForm, oversize_ticks
from app.queries.ring_sizes import suppliers
from app.services.ring_sizes import add_series
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, Sent, SentDep
from app.web.render import page
from app.workflow.permissions import Verb

BASE = "/shelf/sizes"
router = APIRouter(prefix=f"{BASE}/series", dependencies=[may(Verb.EDIT_SHELF)])


@router.get("")
def new(request: Request, db: DatabaseDep) -> Response:
    return _page(request, db)


@router.post("/oversizes")
def create_oversizes(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    return _add(request, db, sent, OversizesForm(sent.fields, unit=request.state.shop.unit))


@router.post("/blanks")
def create_blanks(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    return _add(request, db, sent, BlanksForm(sent.fields, unit=request.state.shop.unit))


def _add(request: Request, db: Database, sent: Sent, form: OversizesForm | BlanksForm) -> Response:
    return answer(
        request,
        sent,
        form,
        lambda tx: add_series(tx, form),
        then=lambda _row: BASE,
        show=lambda status: _page(request, db, form, status),
        said="The series is on the list. All of it is nominal: nothing of it was measured.",
    )


def _page(
    request: Request,
    db: Database,
    sent: OversizesForm | BlanksForm | None = None,
    status: int = 200,
) -> Response:
    unit = request.state.shop.unit
    with db.read() as session:
        known = suppliers(session)
    ticked = {name: "yes" for name, _, of in oversize_ticks() if of is unit}
    oversizes = OversizesForm.showing({"unit": unit.value, **ticked})
    blanks = BlanksForm.showing({"unit": "in", "step": "64"})
    return page(
        request,
        "ring_sizes/series.html",
        status,
        nav="shelf",
        oversizes=sent if isinstance(sent, OversizesForm) else oversizes,
        blanks=sent if isinstance(sent, BlanksForm) else blanks,
        ticks=oversize_ticks(),
        suppliers=known,
    )
