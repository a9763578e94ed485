"""Work and present seat of every position of a head."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.positions import QUICK_SEATS, QUICK_WORK, PositionsForm, had
from app.models.head import Head, Port
from app.services.owned import the_head
from app.services.positions import decide_positions, is_as_kept, kept_work
from app.services.write import Write
from app.web import addresses
from app.web.access import may
from app.web.answers import Undo, answer, done
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.maps import map_of
from app.web.render import page
from app.workflow.permissions import Verb
from app.workflow.words import SeatNow, Work, listed
from app.worksheets.facts import load_sheet

router = APIRouter()


@router.get("/heads/{head_id}/positions", dependencies=[may(Verb.DECIDE_WORK)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return _page(request, db, head_id, None)


@router.post("/heads/{head_id}/positions", dependencies=[may(Verb.DECIDE_WORK)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        job, head = the_head(session, head_id)
        ids = {rows.port.id: rows.label for rows in load_sheet(session, head).rows.ports}
        form = PositionsForm(sent.fields, ids=ids)
        is_idle = form.ok and job.ended_at is None and is_as_kept(session, head, form)

    stays = form.quick is not None or "stay" in sent.fields
    stood: dict[int, tuple[Work, SeatNow | None]] = {}
    stands: dict[int, tuple[Work, SeatNow | None]] = {}

    def decide(tx: Write) -> Head:
        stood.update(kept_work(tx.session, the_head(tx.session, head_id)[1]))
        row = decide_positions(tx, head_id, form)
        stands.update(kept_work(tx.session, row))
        return row

    def then(row: Head) -> str:
        # A quick button stays here, and so does its undo: the next touch is likely another one.
        here = f"/heads/{row.id}/positions"
        return here if stays else addresses.job(job.number)

    if is_idle:
        return done(request, then(head))
    return answer(
        request,
        sent,
        form,
        decide,
        then=then,
        said=lambda _head: _said(
            [ids[port_id] for port_id in stood if stood[port_id] != stands[port_id]]
        ),
        undo=lambda _head: _undo(head_id, stood, stands, {"stay": "yes"} if stays else {}),
        show=lambda status: _page(request, db, head_id, form, status),
    )


def _said(labels: list[str]) -> str:
    return f"Decided: {listed(labels)}." if labels else ""


def _undo(
    head_id: int,
    stood: dict[int, tuple[Work, SeatNow | None]],
    stands: dict[int, tuple[Work, SeatNow | None]],
    more: dict[str, str],
) -> Undo:
    """Every position that changed as it stood; one that is changed again meanwhile is refused."""
    fields = dict(more)
    for port_id, (work, seat_now) in stood.items():
        if (work, seat_now) != stands[port_id]:
            fields[f"work_{port_id}"] = work
            fields[f"seat_{port_id}"] = seat_now or ""
            fields[f"had_{port_id}"] = had(*stands[port_id])
    return Undo(f"/heads/{head_id}/positions", fields)


def _page(
    request: Request, db: DatabaseDep, head_id: int, form: PositionsForm | None, status: int = 200
) -> Response:
    with db.read() as session:
        job, head = the_head(session, head_id)
        sheet = load_sheet(session, head)
    ports = [rows.port for rows in sheet.rows.ports]
    return page(
        request,
        "positions/edit.html",
        status,
        nav="counter",
        job=job,
        head=head,
        map=map_of(sheet, href=lambda port: f"#port-{port.id}"),
        ports=[(rows.port, rows.position) for rows in sheet.rows.ports],
        form=form or PositionsForm.showing(_as_kept(ports)),
        had={port.id: had(port.work, port.seat_now) for port in ports},
        works=list(Work),
        seats=list(SeatNow),
        quick_work=QUICK_WORK,
        quick_seats=QUICK_SEATS,
    )


def _as_kept(ports: list[Port]) -> dict[str, object]:
    found: dict[str, object] = {}
    for port in ports:
        found[f"work_{port.id}"] = port.work
        found[f"seat_{port.id}"] = port.seat_now
    return found
