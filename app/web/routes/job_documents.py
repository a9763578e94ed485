"""Everything on record of a job as one file for programs."""

from __future__ import annotations

import json

from fastapi import APIRouter
from starlette.responses import Response

from app.db import Database
from app.queries.job_documents import job_document
from app.services.owned import the_job
from app.threads import slow_work
from app.web.access import may
from app.web.deps import DatabaseDep, JobNumber
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/jobs/{number}/document", dependencies=[may(Verb.EXPORT)])
async def download(db: DatabaseDep, number: JobNumber) -> Response:
    return Response(
        await slow_work(_document, db, number),
        media_type="application/json",
        headers={"Content-Disposition": f'attachment; filename="job-{number}.json"'},
    )


def _document(db: Database, number: str) -> bytes:
    with db.read() as session:
        document = job_document(session, the_job(session, number))
    return json.dumps(document, ensure_ascii=False, indent=1).encode()
