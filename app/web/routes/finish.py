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
from app.workflow.cautions import CUTTING
from app.workflow.grids import BELOW_DECK, FINISH, PROUD
from app.workflow.kinds import Quantity, ReadingKind
from app.workflow.permissions import Verb
from app.workflow.words import Kind, Work
from app.worksheets.cells import Bound
from app.worksheets.facts import HeadSheet
from app.worksheets.finished_seats import finish_asks, land_bound, stem_bound
from app.worksheets.head_rows import PortRows
from app.worksheets.heats import warm_words
from app.worksheets.seat_plans import angles_of, newest_plans
from app.worksheets.shop_rules import current_rules
from app.worksheets.sinking import recession, sinking

router = APIRouter()
DECK = "deck"


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

        self.is_deck = asked.get("of") == DECK
        self._angles: dict[Kind, float] | None = None

    def here(self, head_id: int) -> str:
        return f"/heads/{head_id}/finish{f'?of={DECK}' if self.is_deck else ''}"

    def sections(self, ports: Sequence[PortRows]) -> list[Section]:
        asked = tuple(r for r in along(ports, [Work.RING, Work.SEAT_ONLY]) if _is_asked(r))
        if not asked:
            return []
        if self.is_deck:
            return [Section(BELOW_DECK, asked, worked="sunk")]
        return [Section(FINISH, asked, worked="stem moved")]

    def bounds(self, sheet: HeadSheet, rows: PortRows) -> Mapping[Quantity, Bound]:
        angle = self._seat_angles(sheet)[rows.port.kind]
        found = {
            Quantity.SEAT_WIDTH: land_bound(sheet, rows, angle),
            Quantity.STEM_AFTER: stem_bound(rows, sheet.rows.job.job.unit),
        }
        return {quantity: bound for quantity, bound in found.items() if bound is not None}

    def beside(self, view: GridView, rows: PortRows) -> tuple[str, str]:
        told = ", ".join(finish_asks(rows, view.rules, view.job.unit))
        if self.is_deck:
            found = sinking(rows, view.unit)
            return signed(found.sunk.sunk, view.unit) if found else "", told
        after = rows.finish.one(Quantity.STEM_AFTER) if rows.finish else None
        before = rows.stems.one(Quantity.STEM_HEIGHT) if rows.stems else None
        if after is None or before is None:
            return "", told
        return signed(after - before, view.unit), told

    def aside(self, view: GridView, rows: PortRows) -> tuple[str, str] | None:
        if self.is_deck:
            before = recession(rows.stems)
        else:
            before = rows.stems.one(Quantity.STEM_HEIGHT) if rows.stems else None
        return None if before is None else ("came in", before.shown(view.unit))

    def way(self, rows: PortRows) -> tuple[str, str, str] | None:
        return None if self.is_deck else ("work out", "cuts", f"/positions/{rows.port.id}/seat")

    def more(self, view: GridView) -> dict[str, Any]:
        ports = along(view.sheet.rows.ports, [Work.RING, Work.SEAT_ONLY])
        kinds = [kind for kind in Kind if any(rows.port.kind is kind for rows in ports)]
        with self._db.read() as session:
            warm = warm_words(session, view.sheet)
            seats = told_of_head(session, view.head.id, kinds, view.rules, view.job.unit)
        return {
            "warm": warm,
            "cautions": [view.rules.caution(key) for key in CUTTING],
            "waiting": [rows for rows in ports if not _is_asked(rows)],
            "seats": seats,
            "deepest": view.rules.length("recession_limit").shown(view.unit),
            "proud": PROUD[view.unit],
        }

    def next_href(self, view: GridView) -> str:
        return f"/jobs/{view.job.number}/sign"

    def _seat_angles(self, sheet: HeadSheet) -> dict[Kind, float]:
        if self._angles is None:
            with self._db.read() as session:
                plans = newest_plans(session, [sheet.head.id])[sheet.head.id]
                rules = current_rules(session)
            self._angles = {kind: angles_of(kind, plans.get(kind), rules).seat for kind in Kind}
        return self._angles


def _is_asked(rows: PortRows) -> bool:
    read = rows.finish is not None and bool(rows.finish.counting)
    return rows.port.work is Work.SEAT_ONLY or rows.ring_in is not None or read


@router.get("/heads/{head_id}/finish", dependencies=[may(Verb.READ)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return show_grid(request, db, head_id, Finish(request.query_params, db))


@router.post("/heads/{head_id}/finish", dependencies=[may(Verb.FINISH_SEAT)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    return update_grid(request, db, head_id, sent, Finish(sent.fields, db))
