"""A whole-head grid: the head as it stands, and what its readings are taken with."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlmodel import Session

from app.models.crib import Instrument
from app.models.customer import Customer
from app.models.head import Head
from app.models.job import Job
from app.queries.gauges import gauges
from app.workflow.kinds import InstrumentKind
from app.workflow.shop_rules import ShopRules
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.shop_rules import current_rules


@dataclass(frozen=True)
class GridView:
    """What every grid page of a head starts from."""

    job: Job
    head: Head
    customer: Customer | None
    sheet: HeadSheet
    rules: ShopRules
    instruments: list[Instrument]

    @property
    def unit(self) -> str:
        """The job's unit."""
        return self.job.unit.value

    @property
    def is_over(self) -> bool:
        """The job is ended: what was read stays, nothing is added."""
        return self.job.ended_as is not None or self.job.voided_at is not None


def grid_view(
    session: Session, job: Job, head: Head, kinds: Iterable[InstrumentKind] = ()
) -> GridView:
    """Gathered in a fixed number of statements."""
    return GridView(
        job=job,
        head=head,
        customer=session.get(Customer, job.customer_id) if job.customer_id else None,
        sheet=load_sheet(session, head),
        rules=current_rules(session),
        instruments=gauges(session, kinds),
    )
