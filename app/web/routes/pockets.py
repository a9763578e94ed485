"""Old pockets along a head: what the new counterbore must clean up, and the metal beside it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.queries.grids import GridView
from app.web.access import may
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.head_grids import HeadGrid, Section, along, show_grid, update_grid
from app.workflow.grids import OLD_POCKETS, SEATS_IN_CASTING, WALL_AND_WEB
from app.workflow.kinds import ReadingKind
from app.workflow.permissions import Verb
from app.workflow.words import SeatNow, Work
from app.worksheets.head_rows import PortRows
from app.worksheets.pockets import pocket_findings

router = APIRouter()


class Pockets(HeadGrid):
    """Only positions that get a ring; a seat in the casting has no pocket yet."""

    path: ClassVar[str] = "pockets"
    title: ClassVar[str] = "Old pockets"
    kind: ClassVar[ReadingKind] = ReadingKind.POCKETS
    keys: ClassVar[tuple[str, ...]] = ("old_pocket", "wall", "web")
    onward: ClassVar[tuple[str, str]] = ("Next: the rings", "")
    template: ClassVar[str] = "grids/pockets.html"
    turned: int = 0

    def sections(self, ports: Sequence[PortRows]) -> list[Section]:
        rings = along(ports, [Work.RING])
        in_casting = tuple(r for r in rings if r.port.seat_now is SeatNow.CASTING)
        pockets = tuple(r for r in rings if r.port.seat_now is not SeatNow.CASTING)
        return [
            section
            for section in (
                Section(
                    (*OLD_POCKETS, *WALL_AND_WEB),
                    pockets,
                    "Old seat rings" if in_casting else "",
                    "spare",
                ),
                Section(
                    (*SEATS_IN_CASTING, *WALL_AND_WEB),
                    in_casting,
                    "Seats in the casting" if pockets else "",
                ),
            )
            if section.ports
        ]

    def beside(self, view: GridView, rows: PortRows) -> tuple[str, str]:
        found = pocket_findings(view.sheet.rows, rows, view.sheet.targets, view.rules)
        cleaned = found.clean_up
        spare = "" if cleaned is None else cleaned.spare.shown(view.unit)
        return spare, found.remarks(view.unit)

    def more(self, view: GridView) -> dict[str, Any]:
        rings = along(view.sheet.rows.ports, [Work.RING])
        return {
            "undecided": [r.label for r in rings if r.port.seat_now is None],
            "out": [
                f"{r.label} {r.ring_out.way.screen}, {r.ring_out.floor.screen}"
                for r in rings
                if r.ring_out
            ],
            "getting_rings": [(r.label, r.port.id) for r in rings],
        }

    def next_href(self, view: GridView) -> str:
        sets = {rows.port.ring_set_id for rows in along(view.sheet.rows.ports, [Work.RING])} - {
            None
        }
        if len(sets) == 1:
            return f"/ring-sets/{sets.pop()}"
        return f"/jobs/{view.job.number}/ring-sets/new"


@router.get("/heads/{head_id}/pockets", dependencies=[may(Verb.READ)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return show_grid(request, db, head_id, Pockets(request.query_params))


@router.post("/heads/{head_id}/pockets", dependencies=[may(Verb.RECORD_READING)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    return update_grid(request, db, head_id, sent, Pockets(sent.fields))
