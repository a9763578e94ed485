"""What the bore gauge reads at one position, and the verdict that is accepted on it."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database, now
from app.forms.base import Form
from app.forms.readings import Entry, GridForm, ReadWithForm
from app.models.base import Row
from app.queries.bore_readings import bore_cells, comparator_of
from app.queries.cuts import cut_view
from app.services.cuts import gauge
from app.services.owned import open_port, the_port
from app.services.readings import ReadWith
from app.services.verifications import prove_bore
from app.services.write import Write
from app.web.access import may
from app.web.answers import answer, done
from app.web.cut_page import JUDGED, cut_page, onward
from app.web.deps import DatabaseDep, RowId, Sent, SentDep
from app.web.grids import keep
from app.web.render import is_partial
from app.workflow.doubtful import ODD_KEYS
from app.workflow.permissions import Verb
from app.worksheets.facts import load_sheet
from app.worksheets.verifications import proved_sum

router = APIRouter()


@router.post("/positions/{port_id}/cut/readings", dependencies=[may(Verb.RECORD_READING)])
def update(request: Request, db: DatabaseDep, port_id: RowId, sent: SentDep) -> Response:
    form, read_with = _typed(db, port_id, sent)
    status = _keep(request, port_id, sent, form, read_with)
    if is_partial(request):
        return cut_page(request, db, port_id, form, status, read_with=read_with, template=JUDGED)
    if status != 200:
        return cut_page(request, db, port_id, form, status, read_with=read_with)
    if sent.fields.get("then") == "stop":
        return done(request, f"/positions/{port_id}/hold")
    return done(request, f"/positions/{port_id}/cut#gauge")


@router.post("/positions/{port_id}/cut/bored", dependencies=[may(Verb.CUT)])
def prove(request: Request, db: DatabaseDep, port_id: RowId, sent: SentDep) -> Response:
    """Keep what is typed, then accept the verdict: two writes, so that a question loses nothing."""
    form, read_with = _typed(db, port_id, sent)
    status = _keep(request, port_id, sent, form, read_with)
    if status != 200:
        return cut_page(request, db, port_id, form, status, read_with=read_with)
    confirmed = {key for key in ODD_KEYS if form.confirmed(key)}
    asked = Form(sent.fields)
    return answer(
        request,
        sent,
        asked,
        lambda tx: prove_bore(
            tx,
            open_port(tx, port_id),
            edge_is_known=form.confirmed("edge"),
            confirmed=confirmed,
        ),
        then=lambda _row: _after(request, db, port_id)[0],
        said=lambda _row: _after(request, db, port_id)[1],
        show=lambda status: cut_page(request, db, port_id, asked, status, read_with=read_with),
    )


def _typed(db: Database, port_id: int, sent: Sent) -> tuple[GridForm, ReadWithForm]:
    """The fields of the bore as sent, read with the gauge as sent."""
    with db.read() as session:
        job, head, port = the_port(session, port_id)
        read_with = ReadWithForm(sent.fields, job.unit)
        comparator = (
            comparator_of(session, read_with.instrument_id, read_with.zeroed_on)
            if read_with.ok
            else None
        )
        rows = load_sheet(session, head).rows.port(port.id)
        asked, lower = bore_cells(session, rows, job.unit, comparator)
    return GridForm(sent.fields, (*asked, *lower)), read_with


def _keep(
    request: Request, port_id: int, sent: Sent, form: GridForm, read_with: ReadWithForm
) -> int:
    """Keep the readings; what is wrong is noted at its field. The answer's status."""

    def change(tx: Write, entries: list[Entry], with_what: ReadWith) -> Row:
        return gauge(tx, open_port(tx, port_id), entries, with_what)

    return keep(request, sent, form, read_with, change).status


def _after(request: Request, db: Database, port_id: int) -> tuple[str, str]:
    """Where a verdict leads, and what is said there."""
    with db.read() as session:
        view = cut_view(
            session, the_port(session, port_id), person_id=request.state.person.id, at=now()
        )
    if view.rows.hold is not None:
        return f"/positions/{port_id}/hold", ""
    proved = proved_sum(view.rows, view.job.unit)
    figure = proved.total if proved else ""
    advice = view.advice
    stay = advice is not None and advice.is_open and not advice.correction.leave_alone
    where = f"/positions/{port_id}/cut" if stay else onward(view)[1]
    return where, f"{view.port.label} is bored: interference {figure}, by these readings."
