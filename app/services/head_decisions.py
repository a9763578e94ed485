"""How a head goes on after it was inspected; the newest word counts, earlier ones stay."""

from __future__ import annotations

from app.forms.inspections import Decided
from app.forms.waiting import LONGEST_FOR, WaitingForm
from app.models.head import Head
from app.models.inspection import HeadDecision
from app.models.job import Job
from app.queries.head_decisions import newest_decisions
from app.services.owned import open_head, zone_of
from app.services.waiting import start_waiting
from app.services.write import Refused, Write, use_case
from app.workflow.words import InspectionWay, Waiting


@use_case
def decide_head(tx: Write, head_id: int, decided: Decided) -> Head:
    """Go on, ask the customer (the job waits from then on), or scrap it, with the reason."""
    job, head = open_head(tx, head_id)
    there = newest_decisions(tx.session, [head.id]).get(head.id)
    if there is not None and (there.way, there.because) == (decided.way, decided.because):
        return tx.leave(head)
    if there is not None and there.id != decided.had_id:
        raise Refused(
            f"{there.by} decided “{there.way.screen}” after this page was opened. Nothing of this "
            "page was stored yet: look at both, and send it again if yours is to count.",
            "way",
        )
    row = tx.add(
        HeadDecision(
            by_id=tx.by_id, at=tx.at, head_id=head.id, way=decided.way, because=decided.because
        )
    )
    if decided.way is InspectionWay.ASK_CUSTOMER:
        _wait_for_the_customer(tx, job, head, decided.because)
    tx.log(
        "decided how the head goes on",
        head,
        job=job,
        head=head,
        decision=row.id,
        goes_on=decided.way,
    )
    return head


def _wait_for_the_customer(tx: Write, job: Job, head: Head, because: str) -> None:
    """Since when and until when it waits for the customer already stays as it was said, and what
    else it waits for is not forgotten."""
    today = tx.at.astimezone(zone_of(tx.session)).date()
    asked = f"{head.name}: {because}" if head.name else because
    if job.waiting is not None and job.waiting is not Waiting.CUSTOMER:
        asked = f"{asked}; also {job.waiting.screen}: {job.waiting_for}"
    raw = {"waiting": Waiting.CUSTOMER.value, "waiting_for": asked[:LONGEST_FOR]}
    if job.waiting is Waiting.CUSTOMER and job.waiting_since is not None:
        raw["since"] = job.waiting_since.astimezone(zone_of(tx.session)).date().isoformat()
        raw["expected_on"] = job.waiting_until.isoformat() if job.waiting_until else ""
    start_waiting(tx, job.number, WaitingForm(raw, today=today))
