"""Notices to a customer: what was told, how and when; the dates that local law asks about."""

from __future__ import annotations

from app.forms.notices import NoticeForm
from app.models.job import Notice
from app.services.owned import open_job
from app.services.write import Refused, Write, use_case
from app.workflow.kinds import CustomerKind


@use_case
def give_notice(tx: Write, number: str, form: NoticeForm) -> Notice:
    """Write down a notice that was given."""
    job = open_job(tx, number)
    if job.customer_kind is CustomerKind.SHOP_STOCK:
        raise Refused("These heads are the shop's own; nobody is to collect them.")
    notice = tx.add(
        Notice(
            by_id=tx.by_id,
            at=tx.at,
            job_id=job.id,
            notice_of=form.notice_of,
            how=form.how,
            given_on=form.given_on,
            until=form.until,
            note=form.note,
        )
    )
    tx.log(
        "gave notice",
        notice,
        job=job,
        of=form.notice_of,
        how=form.how,
        on=form.given_on.isoformat(),
        until=form.until.isoformat() if form.until else "",
    )
    return notice
