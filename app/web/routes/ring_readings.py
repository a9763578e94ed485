"""What is read on the rings of a set: kept whole, or reading by reading as it is typed."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.readings import Entry, GridForm, ReadWithForm
from app.models.base import Row
from app.models.job import Job
from app.queries.ring_sets import ring_cells, show_set
from app.services.readings import ReadWith, record_readings
from app.services.ring_sets import open_ring_set
from app.services.write import Write
from app.web import addresses
from app.web.access import may
from app.web.answers import done
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.grids import keep
from app.web.render import is_partial
from app.web.ring_set_page import (
    LIVE,
    ReadingForms,
    further_places,
    ring_set_page,
    sent_gauge,
    the_set,
)
from app.workflow.permissions import Verb

router = APIRouter()
NEXT = "plan"


@router.post("/ring-sets/{ring_set_id}/readings", dependencies=[may(Verb.RECORD_READING)])
def record(request: Request, db: DatabaseDep, ring_set_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        ring_set = the_set(session, ring_set_id)
        read_with = ReadWithForm(sent.fields, ring_set.unit)
        gauge = sent_gauge(session, ring_set, read_with)
        cells = ring_cells(session, ring_set, further_places(sent.fields), gauge)
        job = session.get(Job, ring_set.job_id) if ring_set.job_id else None
    forms = ReadingForms(read_with, GridForm(sent.fields, cells))

    def change(tx: Write, entries: list[Entry], with_what: ReadWith) -> Row:
        return record_readings(tx, open_ring_set(tx, ring_set_id), entries, with_what)

    done_so = keep(request, sent, forms.grid, read_with, change)
    if is_partial(request):
        return ring_set_page(
            request, db, ring_set_id, done_so.status, readings=forms, template=LIVE
        )
    if done_so.status != 200:
        return ring_set_page(request, db, ring_set_id, done_so.status, readings=forms)
    if sent.fields.get("then") == NEXT and job and _is_ready(db, ring_set_id):
        return done(request, addresses.plan(job.number))
    more = sent.fields.get("more", "")
    if more.isascii() and more.isdigit():
        return done(request, f"/ring-sets/{ring_set_id}?more={more[:10]}#ring-{more[:10]}")
    return done(request, f"/ring-sets/{ring_set_id}")


def _is_ready(db: Database, ring_set_id: int) -> bool:
    with db.read() as session:
        view = show_set(session, the_set(session, ring_set_id))
    return not view.open and view.label_question is None
