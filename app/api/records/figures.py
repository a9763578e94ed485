"""GET /api/v1/figures and /api/v1/figures/{key}: the office's figures with their definitions."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from app.api.records.answers import described, told
from app.db import now
from app.threads import slow_work
from app.web.days import today
from app.web.deps import DatabaseDep
from app.web.routes.figures import FIGURES, Key, counted_for
from app.workflow.periods import Period

router = APIRouter()
Month = Annotated[str, Query(pattern=r"^20[0-9]{2}-(0[1-9]|1[0-2])$", max_length=7)]


@router.get("/figures", responses=described("The figures there are.", "figures"))
def list_figures() -> Response:
    """Every figure of the office: its key, its name, and what it answers."""
    return told(
        {
            "figures": [
                {"key": key, "title": title, "answers": question}
                for key, (title, question, _) in FIGURES.items()
            ]
        }
    )


@router.get(
    "/figures/{key}",
    responses=described("One figure over a period.", "key", "count", "definition", "rows"),
)
async def show(
    request: Request,
    db: DatabaseDep,
    key: Key,
    first: Annotated[Month | None, Query(alias="from")] = None,
    last: Annotated[Month | None, Query(alias="to")] = None,
) -> Response:
    """A figure with its count and definition; over the last twelve months where `from` and `to`
    are not both given."""
    period = Period.parse(first or "", last or "", today(request))
    figure = await slow_work(counted_for, request, db, key, period)
    columns = [{"name": column.name, "holds": column.holds.value} for column in figure.columns]
    answer: dict[str, Any] = {
        "key": figure.key,
        "title": figure.title,
        "definition": figure.definition,
        "from": period.first.key,
        "to": period.last.key,
        "count": figure.count,
        "cases": figure.cases,
        "few": figure.few,
        "columns": columns,
        "rows": [list(row.cells) for row in figure.rows],
        "worked_at": now(),
    }
    return told(answer)
