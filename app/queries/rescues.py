"""The page that asks which ring would save a position."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session

from app.calc.units import Length
from app.models.customer import Customer
from app.models.head import Head, Port
from app.models.job import Job
from app.queries.shop_rules import current_rules
from app.workflow.shop_rules import ShopRules
from app.workflow.ways_out import WayOut, ways_out
from app.workflow.words import Way
from app.worksheets.cutting import heads_of, port_name
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.head_rows import PortRows
from app.worksheets.holds import situation
from app.worksheets.rescue import RescueWorking, work_rescue

# The ways that do not take a larger ring, in the order in which a hold names them.
OTHER_WAYS = (Way.ANOTHER_RING, Way.WELD, Way.SCRAP)


@dataclass(frozen=True)
class RescueView:
    """A position, its rings looked at, and the ways beside them."""

    job: Job
    head: Head
    port: Port
    customer: Customer | None
    sheet: HeadSheet
    rows: PortRows
    name: str  # with its head where the job has several
    rules: ShopRules
    working: RescueWorking | None
    ways: tuple[WayOut, ...]

    @property
    def unit(self) -> str:
        """The job's unit."""
        return self.job.unit.value


def rescue_view(
    session: Session, found: tuple[Job, Head, Port], inside: Length | None = None
) -> RescueView:
    """Gather the page; `inside` is how far a ring may be open, where a person said so."""
    job, head, port = found
    rules = current_rules(session)
    sheet = load_sheet(session, head)
    rows = sheet.rows.port(port.id)
    every = ways_out(situation(session, sheet, rows, rules))
    return RescueView(
        job=job,
        head=head,
        port=port,
        customer=session.get(Customer, job.customer_id) if job.customer_id else None,
        sheet=sheet,
        rows=rows,
        name=port_name(head, port.label, heads_of(session, job.id)).told,
        rules=rules,
        working=work_rescue(session, sheet, rows, rules, inside),
        ways=tuple(way for way in every if way.way in OTHER_WAYS),
    )
