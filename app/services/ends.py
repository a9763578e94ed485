"""Other ends than the hand-over, and jobs opened by mistake."""

from __future__ import annotations

from sqlmodel import col, select

from app.forms.ends import EndForm, VoidForm
from app.models.head import Head, Port
from app.models.job import Job, Note
from app.models.port_pass import Cut, PortPass
from app.queries.notices import short_of_notice
from app.services.owned import open_job, the_job, zone_of
from app.services.write import Refused, Write, use_case
from app.workflow.kinds import CustomerKind, NoteKind
from app.workflow.words import Ended, sentence


@use_case
def end_job(tx: Write, number: str, form: EndForm) -> Job:
    """End a job without the hand-over of finished work."""
    job = open_job(tx, number)
    if form.ended_as in (Ended.ABANDONED, Ended.SOLD) and not form.confirmed("notice"):
        today = tx.at.astimezone(zone_of(tx.session)).date()
        short = short_of_notice(tx.session, job, today)
        if short and job.customer_kind is not CustomerKind.SHOP_STOCK:
            raise Refused(
                f"{sentence(short)} Local law decides what has to be told before, and how long one "
                "waits: write the notice down first, or say that it is so",
                "confirm_notice",
            )
    job.ended_as, job.ended_at = form.ended_as, tx.at
    job.ended_note, job.collected_by = form.note, form.collected_by
    job.waiting, job.waiting_for = None, ""
    job.waiting_since = job.waiting_until = None
    tx.session.add(job)
    tx.log("ended the job", job, job=job, ended=form.ended_as)
    return job


@use_case
def take_up_again(tx: Write, number: str) -> Job:
    """Open a job again that was ended too early; what was handed over stays handed over."""
    job = the_job(tx.session, number)
    if job.ended_as is None or job.voided_at is not None:
        raise Refused("This job is not over; nothing was changed.")
    if job.ended_as is Ended.HANDED_OVER:
        raise Refused(
            "What was handed over is signed and stays so. A head that comes back is a new job: "
            "take it in as a comeback."
        )
    ended, job.ended_as, job.ended_at = job.ended_as, None, None
    job.ended_note = job.collected_by = ""
    tx.session.add(job)
    tx.log("took the job up again", job, job=job, ended=ended)
    return job


@use_case
def void_job(tx: Write, number: str, form: VoidForm) -> Job:
    """Void a job that should never have been opened; its number stays used."""
    job = open_job(tx, number)
    was_cut = tx.session.exec(
        select(Cut.id)
        .join(PortPass, col(PortPass.id) == col(Cut.port_pass_id))
        .join(Port, col(Port.id) == col(PortPass.port_id))
        .join(Head, col(Head.id) == col(Port.head_id))
        .where(Head.job_id == job.id)
        .limit(1)
    ).first()
    if was_cut is not None:
        raise Refused("Metal came off on this job, so it was no mistake. End it another way.")
    tx.add(
        Note(
            by_id=tx.by_id,
            at=tx.at,
            job_id=job.id,
            kind=NoteKind.NOTE,
            text=f"Opened by mistake: {form.because}",
        )
    )
    job.voided_at = job.ended_at = tx.at
    tx.session.add(job)
    tx.log("voided the job", job, job=job)
    return job
