"""A position on hold: why it stopped, what is known, and the ways out side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlmodel import Session

from app.models.customer import Customer
from app.models.head import Head, Port
from app.models.job import Job
from app.models.person import Person
from app.models.port_pass import HoldRelease
from app.queries.shop_rules import current_rules
from app.workflow.permissions import Verb
from app.workflow.ways_out import HoldSituation, WayOut, deviation_verb, ways_out
from app.worksheets.cutting import StaleResult, clamped_up, heads_of, port_name, stale_of
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.head_rows import PortRows
from app.worksheets.holds import deviation_limit, deviation_value, situation


@dataclass(frozen=True)
class HoldView:
    """The page of a hold; without one it is where a position is stopped."""

    job: Job
    head: Head
    port: Port
    customer: Customer | None
    sheet: HeadSheet
    rows: PortRows
    turned: int
    is_clamped: bool
    stopped_by: str
    ground: HoldSituation
    ways: tuple[WayOut, ...]
    deviation: Verb
    deviation_limit: str
    proposed: Mapping[str, str]  # what a deviation would say: value and limit
    stale: Sequence[StaleResult]
    name: str  # with its head where the job has several
    last: HoldRelease | None

    @property
    def is_on_hold(self) -> bool:
        """It is stopped."""
        return self.rows.hold is not None


def hold_view(session: Session, found: tuple[Job, Head, Port]) -> HoldView:
    """Gather the page."""
    job, head, port = found
    rules = current_rules(session)
    sheet = load_sheet(session, head)
    rows = sheet.rows.port(port.id)
    now = clamped_up(session, head.id)
    ground = situation(session, sheet, rows, rules)
    limit = rules.length("deviation_limit")
    by = session.get(Person, rows.hold.by_id) if rows.hold else None
    return HoldView(
        job=job,
        head=head,
        port=port,
        customer=session.get(Customer, job.customer_id) if job.customer_id else None,
        sheet=sheet,
        rows=rows,
        turned=now.turned if now else 0,
        is_clamped=now is not None,
        stopped_by=by.name if by else "",
        ground=ground,
        ways=ways_out(ground),
        deviation=deviation_verb(ground, limit),
        deviation_limit=limit.shown(job.unit.value),
        proposed={"value": deviation_value(ground), "limit": deviation_limit(ground)},
        stale=stale_of(rows, sheet),
        name=port_name(head, port.label, heads_of(session, job.id)).told,
        last=rows.releases[-1] if rows.releases else None,
    )
