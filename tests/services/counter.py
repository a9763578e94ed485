"""A shop with its counter open, for tests of what is written there."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlmodel import Session, col, select

from app.forms.heads import HeadForm
from app.forms.jobs import NewJobForm
from app.forms.positions import PositionsForm
from app.models.head import Head, Port
from app.models.job import Job
from app.models.shop import Shop
from app.services.heads import describe_head
from app.services.jobs import take_in_job
from app.services.positions import decide_positions
from app.services.write import Write
from app.workflow.kinds import Unit

TODAY = date(2026, 11, 25)
EIGHT = {"pattern": "EIIEEIIE", "valves": "2", "numbered_from": "timing end", "unit": "in"}


def add_shop(session: Session, zone: str = "Europe/Vienna") -> None:
    """The one shop."""
    session.add(Shop(id=1, name="Lindenau Heads", zone=zone, currency="EUR", unit=Unit.INCH))
    session.flush()


def job_form(**fields: str) -> NewJobForm:
    """A new job's form with something in every field that is asked."""
    raw = {
        "kind": "named",
        "customer": "Harrow Lane Farms",
        "phone": "555-0134",
        "heads": "one",
        "wanted": "Seat rings where they are needed",
        "unit": "in",
    }
    return NewJobForm(raw | fields, today=TODAY)


def new_job(tx: Write, **fields: str) -> Job:
    """A job taken in; the customer is somebody new unless said otherwise."""
    return take_in_job(tx, job_form(**({"customer_id": "new"} | fields)))


def head_of(session: Session, job: Job) -> Head:
    """Its first head."""
    return session.exec(select(Head).where(Head.job_id == job.id).order_by(col(Head.nth))).first()  # type: ignore[return-value]


def described(tx: Write, job: Job, **fields: str) -> Head:
    """The first head of a job, described; by default an eight-valve head."""
    head = head_of(tx.session, job)
    return describe_head(tx, head.id, HeadForm(EIGHT | fields))


def ports_of(session: Session, head: Head) -> dict[str, Port]:
    """Its positions that are not void, by label, as they lie."""
    rows = session.exec(
        select(Port)
        .where(Port.head_id == head.id, col(Port.is_void).is_(False))
        .order_by(col(Port.place))
    )
    return {port.label: port for port in rows}


def decide(tx: Write, head: Head, **fields: str) -> Head:
    """Decide positions: `work_2E="ring"`, `seat_2E="casting"`, `quick="rest:leave"`."""
    ports = ports_of(tx.session, head)
    raw: dict[str, Any] = {}
    for name, value in fields.items():
        kind, _, label = name.partition("_")
        raw[f"{kind}_{ports[label].id}" if label in ports else name] = value
    form = PositionsForm(raw, ids={port.id: port.label for port in ports.values()})
    assert form.ok, form.errors
    return decide_positions(tx, head.id, form)
