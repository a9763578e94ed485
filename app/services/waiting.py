"""What a job waits for outside the shop's own work."""

from __future__ import annotations

from datetime import UTC, datetime, time

from app.forms.waiting import WaitingForm
from app.models.job import Job
from app.services.owned import open_job, zone_of
from app.services.write import Refused, Write, use_case


@use_case
def start_waiting(tx: Write, number: str, form: WaitingForm) -> Job:
    """Say what a job waits for, since when, and when it is expected."""
    job = open_job(tx, number)
    zone = zone_of(tx.session)
    since = tx.at
    if form.since != tx.at.astimezone(zone).date():
        since = datetime.combine(form.since, time(12), zone).astimezone(UTC)
    job.waiting, job.waiting_for = form.waiting, form.waiting_for
    job.waiting_since, job.waiting_until = since, form.expected_on
    tx.session.add(job)
    tx.log(
        "set it waiting",
        job,
        job=job,
        waiting=form.waiting,
        since=form.since.isoformat(),
        expected=form.expected_on.isoformat() if form.expected_on else "",
    )
    return job


@use_case
def stop_waiting(tx: Write, number: str) -> Job:
    """What it waited for is there."""
    job = open_job(tx, number)
    if job.waiting is None:
        raise Refused("This job was not waiting any more; nothing was changed.")
    waited = job.waiting
    job.waiting, job.waiting_for = None, ""
    job.waiting_since = job.waiting_until = None
    tx.session.add(job)
    tx.log("ended the waiting", job, job=job, waited=waited)
    return job
