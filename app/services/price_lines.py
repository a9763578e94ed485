"""Plain price lines, held against what was agreed."""

from __future__ import annotations

from sqlmodel import col, func, select

from app.forms.price_lines import PriceLineForm
from app.models.job import Job, PriceLine
from app.services.owned import open_job
from app.services.stages import refresh_all_stages
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.words import money


@use_case
def add_price_line(tx: Write, number: str, form: PriceLineForm) -> PriceLine:
    """Add one line to the estimate."""
    job = open_job(tx, number)
    refuse_below_nothing(tx, job, form.minor, "amount")
    line = tx.add(PriceLine(job_id=job.id, text=form.words, amount=form.minor))
    refresh_all_stages(tx, job)
    tx.log("added a price line", line, job=job, amount=line.amount)
    return line


@use_case
def void_price_line(tx: Write, number: str, line_id: int) -> PriceLine:
    """Take a line out of the total; it stays readable, struck."""
    job = open_job(tx, number)
    line = _line_of(tx, job, line_id)
    if line.voided_at is not None:
        raise Refused("This line was struck already; nothing was changed.")
    refuse_below_nothing(tx, job, -line.amount, "form")
    line.voided_at = tx.at
    tx.session.add(line)
    refresh_all_stages(tx, job)
    tx.log("struck a price line", line, job=job, amount=line.amount)
    return line


@use_case
def restore_price_line(tx: Write, number: str, line_id: int) -> PriceLine:
    """A line that was struck by mistake counts again."""
    job = open_job(tx, number)
    line = _line_of(tx, job, line_id)
    if line.voided_at is None:
        raise Refused("This line counts already; nothing was changed.")
    refuse_below_nothing(tx, job, line.amount, "form")
    line.voided_at = None
    tx.session.add(line)
    refresh_all_stages(tx, job)
    tx.log("put a price line back", line, job=job, amount=line.amount)
    return line


def _line_of(tx: Write, job: Job, line_id: int) -> PriceLine:
    line = tx.session.get(PriceLine, line_id)
    if line is None or line.job_id != job.id:
        raise NotFound("There is no such price line on this job.")
    return line


def refuse_below_nothing(tx: Write, job: Job, change: int, field: str) -> None:
    """A discount takes something off; it never leaves the shop owing its customer."""
    stands = select(func.sum(col(PriceLine.amount))).where(
        PriceLine.job_id == job.id, col(PriceLine.voided_at).is_(None)
    )
    total = int(tx.session.exec(stands).one() or 0)
    if total + change < 0 and change < 0:
        raise Refused(
            f"The total would be {money(total + change)}, less than nothing. A discount takes off "
            f"{money(total)} at most; nothing was changed",
            field,
        )
