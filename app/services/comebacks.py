"""Comebacks: which heads came back, and what is found out about it, also after the hand-over."""

from __future__ import annotations

from collections.abc import Sequence

from sqlmodel import col, select

from app.forms.comebacks import ComebackForm
from app.models.head import Head
from app.models.job import Job
from app.queries.jobs import job_numbered
from app.services.owned import the_job
from app.services.write import NotFound, Refused, Write, use_case


@use_case
def record_comeback(tx: Write, number: str, form: ComebackForm) -> Job:
    """Write down cause, cost and who was told; the bill often comes when the job is long over."""
    job = the_job(tx.session, number)
    if job.voided_at is not None:
        raise Refused(f"{job.number} was voided; nothing more is changed on it.")
    if job.comeback_of_id is None:
        _say_what_it_is(tx, job, form.comeback_of)
    job.comeback_cause, job.comeback_found = form.cause, form.found or None
    job.comeback_cost = form.cost
    job.comeback_told, job.comeback_told_on = form.told or None, form.told_on
    tx.session.add(job)
    # The words may name people, so the log says only that they changed.
    tx.log(
        "wrote down the comeback",
        job,
        job=job,
        comeback_of=job.comeback_of_id,
        cost=job.comeback_cost,
        told_on=job.comeback_told_on.isoformat() if job.comeback_told_on else "",
    )
    return job


def say_which_heads(tx: Write, heads: Sequence[Head], first: Job, chosen: int | None) -> None:
    """Which head of the first job each is: the chosen one, the only one, or that of its name."""
    before = tx.session.exec(
        select(Head).where(Head.job_id == first.id).order_by(col(Head.nth))
    ).all()
    if chosen is not None and chosen not in [each.id for each in before]:
        raise NotFound(f"There is no such head in {first.number}.")
    for head in heads:
        if len(heads) == 1 and (chosen is not None or len(before) == 1):
            found = [each.id for each in before if chosen in (None, each.id)]
        else:
            found = [each.id for each in before if each.name == head.name]
        head.comeback_of_id = found[0] if found else None
        tx.session.add(head)


def _say_what_it_is(tx: Write, job: Job, number: str) -> None:
    first = job_numbered(tx.session, number) if number else None
    if first is None or first.voided_at is not None:
        raise Refused("Type the number of the job that it comes back from.", "comeback_of")
    if first.id >= job.id:
        raise Refused(f"{first.number} was not taken in before {job.number}.", "comeback_of")
    job.comeback_of_id = first.id
    heads = tx.session.exec(select(Head).where(Head.job_id == job.id).order_by(col(Head.nth))).all()
    say_which_heads(tx, heads, first, None)
