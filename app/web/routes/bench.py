"""The bench: the machinist's home."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.web.access import may
from app.web.bench_home import bench_home
from app.web.deps import DatabaseDep
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/bench", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep) -> Response:
    return bench_home(request, db)
