"""GET /api/v1/jobs and /api/v1/jobs/{number}: found as the pages find them, and whole."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from app.api.records.answers import USUAL, After, Limit, described, refused, told
from app.db import Database
from app.forms.find import FindForm, Promise, Sort, State
from app.queries.counter import CounterLine
from app.queries.find import Found, find
from app.queries.job_documents import job_document
from app.services.owned import the_job
from app.threads import slow_work
from app.web.days import today
from app.web.deps import DatabaseDep, JobNumber
from app.workflow.words import Material, Stage

router = APIRouter()
Day = Annotated[str, Query(pattern=r"^\d{4}-\d{2}-\d{2}$")]


@router.get("/jobs", responses=described("A page of jobs.", "jobs", "next"))
async def list_jobs(
    request: Request,
    db: DatabaseDep,
    q: Annotated[str, Query(max_length=100, description="Beginnings of any words.")] = "",
    state: State | None = None,
    stage: Stage | None = None,
    promise: Promise | None = None,
    material: Material | None = None,
    since: Day | None = None,
    until: Day | None = None,
    hold: bool = False,
    waiting: bool = False,
    comeback: bool = False,
    sort: Sort = Sort.NEW,
    after: After = None,
    limit: Limit = USUAL,
) -> Response:
    """Jobs by the words and filters of the Find page; voided ones only when asked for."""
    asked: dict[str, object] = {
        **{"q": q, "state": state, "stage": stage, "promise": promise, "material": material},
        **{"since": since, "until": until, "sort": sort, "after": after},
        **{"hold": hold, "waiting": waiting, "comeback": comeback},
    }
    raw = {name: "yes" if value is True else str(value) for name, value in asked.items() if value}
    form = FindForm(raw)
    if not form.ok:
        return refused(form.errors)
    found = await slow_work(_found, request, db, form, limit)
    jobs = [_line(line) for line in found.lines]
    return told({"jobs": jobs, "next": found.next_after})


@router.get(
    "/jobs/{number}",
    responses=described("Everything on record of one job.", "schema", "schema_version", "job"),
)
async def show(db: DatabaseDep, number: JobNumber) -> Response:
    """The document of a job, as its history page gives it: customer, heads, positions, readings
    with who, when and strikes, settings, cuts, verdicts, workings, signatures, sheets and photos by
    their fingerprints, and the log."""
    return told(await slow_work(_document, db, number))


def _found(request: Request, db: Database, form: FindForm, limit: int) -> Found:
    with db.read() as session:
        return find(session, form, today(request), limit)


def _document(db: Database, number: str) -> dict[str, Any]:
    with db.read() as session:
        return job_document(session, the_job(session, number))


def _line(line: CounterLine) -> dict[str, Any]:
    job = line.job
    return {
        "number": job.number,
        "for": line.who,
        "phone": line.phone,
        "wanted": job.wanted,
        "heads": [
            {"id": head.id, "name": head.name, "casting": head.casting, "material": head.material}
            for head in line.heads
        ],
        "status": line.status.sentence,
        "stage": line.status.stage,
        "on_hold": list(line.status.on_hold),
        "taken_in_at": job.taken_in_at,
        "promised_on": job.promised_on,
        "waiting": job.waiting,
        "waiting_for": job.waiting_for,
        "place": job.place,
        "ended_at": job.ended_at,
        "ended_as": job.ended_as,
        "is_comeback": job.comeback_of_id is not None,
    }
