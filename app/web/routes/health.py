"""Whether this server can answer: for whatever watches it."""

from __future__ import annotations

from importlib.metadata import version

from fastapi import APIRouter
from sqlalchemy.exc import SQLAlchemyError
from sqlmodel import select
from starlette.responses import JSONResponse, Response

from app.models.event import Event
from app.web.deps import DatabaseDep

router = APIRouter()


@router.get("/healthz")
def show(db: DatabaseDep) -> Response:
    try:
        with db.read() as session:
            session.exec(select(Event.id).limit(1)).first()
    except SQLAlchemyError:
        return JSONResponse({"status": "the database does not answer"}, status_code=503)
    return JSONResponse({"status": "ok", "version": version("seatwright")})
