"""Valves and springs of a head: what becomes of each valve, measured as a row along the head."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.readings import Entry
from app.forms.valves import ValvesForm
from app.models.base import Row
from app.services.owned import open_head, the_head
from app.services.readings import ReadWith, record_readings
from app.services.valves import measure_valves
from app.services.write import Write
from app.web.access import may
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.grids import keep
from app.web.head_grids import answer_grid, sent_grid, show_grid
from app.web.valves_grid import Valves
from app.workflow.kinds import ReadingKind
from app.workflow.permissions import Verb
from app.worksheets.head_rows import load_read

router = APIRouter()


@router.get("/heads/{head_id}/valves", dependencies=[may(Verb.READ)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return show_grid(request, db, head_id, Valves(request.query_params, db))


@router.post("/heads/{head_id}/valves", dependencies=[may(Verb.FINISH_SEAT)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        _, head = the_head(session, head_id)
        port_ids = [rows.port.id for rows in load_read(session, head, ReadingKind.VALVES)]
    judged = ValvesForm(sent.fields, port_ids)
    grid = Valves(sent.fields, db, judged)
    form, read_with = sent_grid(db, head_id, sent, grid)
    form.errors |= judged.errors
    grid.sent = form
    is_new = bool(judged.said)

    def change(tx: Write, entries: list[Entry], with_what: ReadWith) -> Row:
        if is_new:
            return measure_valves(tx, head_id, judged, entries, with_what)
        return record_readings(tx, open_head(tx, head_id)[1], entries, with_what)

    done = keep(request, sent, form, read_with, change, also=is_new)
    return answer_grid(request, db, head_id, sent, grid, done, grid.here(head_id))
