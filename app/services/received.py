"""What came with a job, counted in and counted out; the newest count of a part holds."""

from __future__ import annotations

from app.forms.received import ReceivedForm
from app.models.job import Job, Received
from app.queries.received import counted
from app.services.owned import open_job
from app.services.stages import refresh_all_stages
from app.services.write import Refused, Write, use_case
from app.workflow.parts import NOTHING


@use_case
def count_received(tx: Write, number: str, form: ReceivedForm) -> Job:
    """Record counts; a part that was counted before is counted anew."""
    job = open_job(tx, number)
    held = counted(tx.session, job.id, is_out=form.is_out)
    is_bare = any(each.what == NOTHING for each in form.counts)
    if is_bare and form.is_out and any(counted(tx.session, job.id, is_out=False).values()):
        raise Refused("Parts came in with it; count each of them out, 0 where it stays here")
    if is_bare and not form.is_out and any(held.values()):
        raise Refused("Parts were counted in before; count those as 0 first", "nothing")
    for each in form.counts:
        tx.add(
            Received(
                by_id=tx.by_id,
                at=tx.at,
                job_id=job.id,
                is_out=form.is_out,
                what=each.what,
                pieces=each.pieces,
                note=form.note,
            )
        )
    refresh_all_stages(tx, job)
    tx.log(
        "counted parts out" if form.is_out else "counted what came with it",
        job,
        job=job,
        counts=[[each.what, each.pieces] for each in form.counts],
    )
    return job
