"""Chamber volumes of a head: one figure for each cylinder, held against each other."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.chamber_volumes import ChamberVolumesForm
from app.models.customer import Customer
from app.queries.figured_inspections import Figured, newest_figured
from app.queries.people import readers
from app.queries.shop_rules import current_rules
from app.services.chamber_volumes import measure_chambers
from app.services.owned import the_head
from app.web.access import may
from app.web.answers import answer
from app.web.bench_page import strip_words
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.kinds import ReadingKind
from app.workflow.permissions import Verb
from app.workflow.words import InspectionKind
from app.worksheets.chamber_volumes import matched, sunk, sunk_words
from app.worksheets.facts import load_sheet
from app.worksheets.head_rows import load_read

router = APIRouter()
METHODS = ("plate and burette, valves in", "plate and burette, one valve and spark plug in")
REASONS = ("not asked for", "no burette here", "flat chambers: the bowl is in the piston")


@router.get("/heads/{head_id}/chambers", dependencies=[may(Verb.READ)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return _page(request, db, head_id, None)


@router.post("/heads/{head_id}/chambers", dependencies=[may(Verb.INSPECT)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        _, head = the_head(session, head_id)
        ports = load_read(session, head, ReadingKind.VALVES)
    cylinders = list(dict.fromkeys(rows.port.cylinder for rows in ports))
    form = ChamberVolumesForm(sent.fields, cylinders=cylinders)
    return answer(
        request,
        sent,
        form,
        lambda tx: measure_chambers(tx, head_id, form),
        then=lambda head: f"/heads/{head.id}/chambers",
        show=lambda status: _page(request, db, head_id, form, status),
        said="Recorded.",
    )


def _page(
    request: Request,
    db: Database,
    head_id: int,
    form: ChamberVolumesForm | None,
    status: int = 200,
) -> Response:
    with db.read() as session:
        job, head = the_head(session, head_id)
        ports = load_sheet(session, head).rows.ports
        kind = InspectionKind.CHAMBER_VOLUMES
        there = newest_figured(session, head.id, kind, of_positions=False).get(None)
        rules = current_rules(session)
        customer = session.get(Customer, job.customer_id) if job.customer_id else None
        people = readers(session)
    cylinders = list(dict.fromkeys(rows.port.cylinder for rows in ports))
    match = matched(there.exact, rules) if there is not None and there.figures else None
    growths = sunk(ports, job.unit.value)
    is_over = job.ended_as is not None or job.voided_at is not None
    return page(
        request,
        "chamber_volumes/edit.html",
        status,
        nav="bench",
        job=job,
        head=head,
        who=strip_words(job, head, customer),
        cylinders=cylinders,
        there=there,
        out=match.out if match else {},
        working=match.working if match else (),
        sunk={cylinder: sunk_words(each) for cylinder, each in growths.items()},
        sunk_workings=[one for each in growths.values() for one in each],
        apart=rules.shown("chambers_apart"),
        form=form or ChamberVolumesForm.showing(_as_kept(there, cylinders)),
        names=ChamberVolumesForm.names
        | {f"volume_{nth}": f"Cylinder {name}" for nth, name in enumerate(cylinders)},
        methods=METHODS,
        reasons=REASONS,
        readers=people,
        may_inspect=request.state.may(Verb.INSPECT) and not is_over,
        is_over=is_over,
    )


def _as_kept(there: Figured | None, cylinders: list[str]) -> dict[str, object]:
    if there is None:
        return {}
    return {
        "method": there.row.method,
        "because": there.row.because,
        **{f"volume_{nth}": there.typed.get(name, "") for nth, name in enumerate(cylinders)},
    }
