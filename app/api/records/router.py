"""Reading the record by programs, under one prefix and behind one key; nothing here writes."""

from __future__ import annotations

from fastapi import APIRouter, Depends

from app.api.records import figures, jobs, positions
from app.api.records.access import keyed

router = APIRouter(prefix="/api/v1", dependencies=[Depends(keyed)])
for endpoint in (jobs, positions, figures):
    router.include_router(endpoint.router)
