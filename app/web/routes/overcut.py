"""A cut left out of a cutter's mean, from the table under its chart."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.overcut import LeaveOutForm
from app.models.crib import Cutter
from app.queries.overcut import leaving_out
from app.queries.tools import find_tool
from app.services.overcut import leave_out_cut
from app.services.write import NotFound
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter(
    prefix="/crib/cutters/{cutter_id}/overcut/{sample_id}",
    dependencies=[may(Verb.EDIT_CRIB)],
)


@router.get("/leave-out")
def show(request: Request, db: DatabaseDep, cutter_id: RowId, sample_id: RowId) -> Response:
    return _page(request, db, cutter_id, sample_id, LeaveOutForm.showing())


@router.post("/leave-out")
def leave_out(
    request: Request, db: DatabaseDep, cutter_id: RowId, sample_id: RowId, sent: SentDep
) -> Response:
    form = LeaveOutForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: leave_out_cut(tx, cutter_id, sample_id, form.reason),
        then=lambda cutter: addresses.overcut(cutter.id),
        show=lambda status: _page(request, db, cutter_id, sample_id, form, status),
        said="Left out. It stays on the chart, hollow, with its reason.",
    )


def _page(
    request: Request,
    db: Database,
    cutter_id: int,
    sample_id: int,
    form: LeaveOutForm,
    status: int = 200,
) -> Response:
    with db.read() as session:
        cutter = find_tool(session, Cutter, cutter_id)
        view = leaving_out(session, cutter, sample_id) if cutter else None
    if view is None:
        raise NotFound("No such cut counts for this cutter's tip: it may be left out already.")
    return page(request, "crib/leave_out.html", status, nav="crib", view=view, form=form)
