"""Seats finished: width, run-out and stem height after, as a row along the head."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.queries.grids import GridView
from app.queries.seat_plans import told_of_head
from app.web.access import may
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.head_grids import HeadGrid, Section, along, show_grid, signed, update_grid
from app.workflow.grids import FINISH
from app.workflow.kinds import Quantity, ReadingKind
from app.workflow.permissions import Verb
from app.workflow.words import Kind, Work
from app.worksheets.head_rows import PortRows
from app.worksheets.heats import warm_words

router = APIRouter()


class Finish(HeadGrid):
    """Asked once a position's ring is in: pressing closes it, and the seat is cut after."""

    path: ClassVar[str] = "finish"
    title: ClassVar[str] = "Seats finished"
    kind: ClassVar[ReadingKind] = ReadingKind.FINISH
    verb: ClassVar[Verb] = Verb.FINISH_SEAT
    keys: ClassVar[tuple[str, ...]] = ("seat_width", "seat_run_out", "stem_after")
    onward: ClassVar[tuple[str, str]] = ("Next: sign", "")
    template: ClassVar[str] = "grids/finish.html"
    needs_whole_head: ClassVar[bool] = True

    def __init__(self, asked: Mapping[str, str], db: Database) -> None:
        super().__init__(asked)
        self._db = db

    def sections(self, ports: Sequence[PortRows]) -> list[Section]:
        asked = tuple(r for r in along(ports, [Work.RING, Work.SEAT_ONLY]) if _is_asked(r))
        return [Section(FINISH, asked, worked="stem moved")] if asked else []

    def beside(self, view: GridView, rows: PortRows) -> tuple[str, str]:
        after = rows.finish.one(Quantity.STEM_AFTER) if rows.finish else None
        before = rows.stems.one(Quantity.STEM_HEIGHT) if rows.stems else None
        run_out = rows.finish.one(Quantity.RUN_OUT) if rows.finish else None
        most = view.rules.length("run_out_limit")
        told = ""
        if run_out is not None and run_out > most:
            told = f"run-out over {most.shown(view.unit)}"
        if after is None or before is None:
            return "", told
        return signed(after - before, view.unit), told

    def aside(self, view: GridView, rows: PortRows) -> tuple[str, str] | None:
        before = rows.stems.one(Quantity.STEM_HEIGHT) if rows.stems else None
        return ("came in", before.shown(view.unit)) if before else None

    def way(self, rows: PortRows) -> tuple[str, str, str] | None:
        return ("work out", "cuts", f"/positions/{rows.port.id}/seat")

    def more(self, view: GridView) -> dict[str, Any]:
        ports = along(view.sheet.rows.ports, [Work.RING, Work.SEAT_ONLY])
        kinds = [kind for kind in Kind if any(rows.port.kind is kind for rows in ports)]
        with self._db.read() as session:
            warm = warm_words(session, view.sheet)
            seats = told_of_head(session, view.head.id, kinds, view.rules, view.job.unit)
        return {
            "warm": warm,
            "waiting": [rows for rows in ports if not _is_asked(rows)],
            "seats": seats,
        }

    def next_href(self, view: GridView) -> str:
        return f"/jobs/{view.job.number}/sign"


def _is_asked(rows: PortRows) -> bool:
    read = rows.finish is not None and bool(rows.finish.counting)
    return rows.port.work is Work.SEAT_ONLY or rows.ring_in is not None or read


@router.get("/heads/{head_id}/finish", dependencies=[may(Verb.READ)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return show_grid(request, db, head_id, Finish(request.query_params, db))


@router.post("/heads/{head_id}/finish", dependencies=[may(Verb.FINISH_SEAT)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    return update_grid(request, db, head_id, sent, Finish(sent.fields, db))
