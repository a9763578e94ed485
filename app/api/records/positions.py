"""GET /api/v1/positions and /api/v1/positions/{id}: where each stands, and with its readings."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.responses import Response

from app.api.records.answers import USUAL, After, Limit, described, told
from app.db import Database
from app.queries.position_documents import position_document, positions_after
from app.services.write import NotFound
from app.threads import slow_work
from app.web.deps import DatabaseDep, RowId
from app.workflow.words import Material, Stage

router = APIRouter()
Number = Annotated[str, Query(pattern=r"^[0-9]{2}-[0-9]{4,6}$", max_length=12)]


@router.get("/positions", responses=described("A page of positions.", "positions", "next"))
async def list_positions(
    db: DatabaseDep,
    job: Number | None = None,
    stage: Stage | None = None,
    material: Material | None = None,
    signed: bool | None = None,
    after: After = None,
    limit: Limit = USUAL,
) -> Response:
    """Positions in the order they were laid out, each with the figures of its signed passes."""
    return told(await slow_work(_list, db, job, stage, material, signed, after or 0, limit))


@router.get("/positions/{position_id}", responses=described("One position.", "position"))
async def show(db: DatabaseDep, position_id: RowId) -> Response:
    """A position with its passes, cuts, verdicts, rings, holds and readings."""
    return told(await slow_work(_one, db, position_id))


def _list(
    db: Database,
    job: str | None,
    stage: Stage | None,
    material: Material | None,
    signed: bool | None,
    after: int,
    limit: int,
) -> dict[str, Any]:
    with db.read() as session:
        found = positions_after(
            session, after, limit, job=job, stage=stage, material=material, signed=signed
        )
    more = len(found) > limit
    return {"positions": found[:limit], "next": found[limit - 1]["id"] if more else None}


def _one(db: Database, position_id: int) -> dict[str, Any]:
    with db.read() as session:
        found = position_document(session, position_id)
    if found is None:
        raise NotFound("There is no such position.")
    return {"position": found}
