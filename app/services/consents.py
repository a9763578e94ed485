"""Consent: what the customer agreed to, how and up to how much."""

from __future__ import annotations

from app.forms.consents import ConsentForm
from app.models.customer import Customer
from app.models.job import Consent
from app.services.owned import open_job
from app.services.stages import refresh_all_stages
from app.services.write import Refused, Write, use_case
from app.workflow.kinds import ConsentHow, CustomerKind


@use_case
def give_consent(tx: Write, number: str, form: ConsentForm) -> Consent:
    """Record an agreement; the newest one counts, earlier ones stay on record."""
    job = open_job(tx, number)
    if job.customer_kind is CustomerKind.SHOP_STOCK:
        raise Refused("These heads are the shop's own; nobody has to agree. Nothing was changed.")
    if form.how is ConsentHow.STANDING:
        customer = tx.session.get(Customer, job.customer_id) if job.customer_id else None
        if customer is None or not customer.is_trade:
            raise Refused(
                "Only a trade customer has standing authority; choose how it was agreed", "how"
            )
        allowed = customer.standing_limit
        if allowed is not None and (form.limit is None or form.limit > allowed):
            raise Refused("This is past the standing authority; ask, and say how", "limit")
    consent = tx.add(
        Consent(
            by_id=tx.by_id,
            at=tx.at,
            job_id=job.id,
            name=form.name,
            how=form.how,
            limit_amount=form.limit,
            given_on=form.given_on,
            note=form.note,
        )
    )
    refresh_all_stages(tx, job)
    tx.log(
        "recorded consent",
        consent,
        job=job,
        how=form.how,
        limit=form.limit,
        on=form.given_on.isoformat(),
    )
    return consent
