"""Old rings out: how each came out, and what became of its floor."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.rings_out import RingsOutForm
from app.queries.rings_out import rings_out
from app.queries.shop_rules import current_rules
from app.services.owned import the_head
from app.services.rings_out import take_rings_out
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.kinds import OldFloor, RingOutWay
from app.workflow.permissions import Verb
from app.workflow.words import SeatNow, Work
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.head_rows import PortRows

router = APIRouter()
HAD_A_RING = frozenset({SeatNow.RING, SeatNow.OVERSIZE_RING, SeatNow.WELDED})


@router.get("/heads/{head_id}/rings-out", dependencies=[may(Verb.READ)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return _page(request, db, head_id, None)


@router.post("/heads/{head_id}/rings-out", dependencies=[may(Verb.RECORD_READING)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        _, head = the_head(session, head_id)
        had = _had_a_ring(load_sheet(session, head))
    form = RingsOutForm(sent.fields, ids={rows.port.id: rows.label for rows in had})
    return answer(
        request,
        sent,
        form,
        lambda tx: take_rings_out(tx, head_id, form),
        then=lambda head: f"/heads/{head.id}/pockets",
        show=lambda status: _page(request, db, head_id, form, status),
        said="Kept. Now the pockets can be measured.",
    )


def _had_a_ring(sheet: HeadSheet) -> list[PortRows]:
    return [
        rows
        for rows in sheet.rows.ports
        if rows.port.work is Work.RING and rows.port.seat_now in HAD_A_RING
    ]


def _page(
    request: Request, db: Database, head_id: int, form: RingsOutForm | None, status: int = 200
) -> Response:
    with db.read() as session:
        job, head = the_head(session, head_id)
        sheet = load_sheet(session, head)
        had = _had_a_ring(sheet)
        there = rings_out(session, [rows.port.id for rows in had])
        caution = current_rules(session).caution("old_ring")
    return page(
        request,
        "rings_out/edit.html",
        status,
        nav="bench",
        job=job,
        head=head,
        ports=[(rows.port, rows.position, there.get(rows.port.id)) for rows in had],
        undecided=[
            rows.label
            for rows in sheet.rows.ports
            if rows.port.work is Work.RING and rows.port.seat_now is None
        ],
        form=form
        or RingsOutForm.showing(
            {
                f"{name}_{port_id}": value
                for port_id, out in there.items()
                for name, value in (
                    ("way", out.row.way.value),
                    ("floor", out.row.floor.value),
                    ("note", out.row.note),
                )
            }
        ),
        labels={
            f"{name}_{rows.port.id}": f"{rows.label}, {words}"
            for rows in had
            for name, words in (("way", "how"), ("floor", "floor"), ("note", "in words"))
        },
        ways=[(each.value, each.screen) for each in RingOutWay],
        floors=[(each.value, each.screen) for each in OldFloor],
        caution=caution,
    )
