"""New guides and sleeves of a head: measured with the bores they go into, and pressed."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.queries.shop_rules import current_rules
from app.services.owned import the_head
from app.web.access import may
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.head_grids import show_grid, update_grid
from app.web.new_guides_grid import CAUTIONED, NewGuides
from app.workflow.permissions import Verb
from app.worksheets.materials import head_figures

router = APIRouter()


@router.get("/heads/{head_id}/new-guides", dependencies=[may(Verb.READ)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return show_grid(request, db, head_id, _grid(db, head_id, request.query_params))


@router.post("/heads/{head_id}/new-guides", dependencies=[may(Verb.RECORD_READING)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    return update_grid(request, db, head_id, sent, _grid(db, head_id, sent.fields))


def _grid(db: Database, head_id: int, asked: Mapping[str, str]) -> NewGuides:
    grid = NewGuides(asked)
    with db.read() as session:
        _, head = the_head(session, head_id)
        rules = current_rules(session)
        grid.figures = head_figures(session, head)
        grid.cautions = tuple(rules.caution(key) for key in CAUTIONED)
    return grid
