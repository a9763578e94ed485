"""The page on which positions are signed: their figures as rows, and what is still open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.models.customer import Customer
from app.models.head import Head
from app.queries.jobs import who_of
from app.services.owned import the_job
from app.services.signatures import open_before_metal, open_of
from app.web.places import OpenPoint, places_of
from app.web.render import page
from app.workflow.kinds import Quantity
from app.workflow.words import Work
from app.worksheets.facts import HeadSheet, bore_since_cut, load_sheets
from app.worksheets.head_rows import PortRows
from app.worksheets.verifications import proved_sum


@dataclass(frozen=True, slots=True)
class SignLine:
    """One position with the figures that the signature is for."""

    port_id: int
    label: str
    about: str
    work: str
    ring: str
    bore: str
    interference: str
    depth: str
    width: str
    run_out: str
    stem: str
    deviation: str
    signed: datetime | None
    open: tuple[OpenPoint, ...]

    @property
    def is_ready(self) -> bool:
        """Nothing is open and it is not signed yet."""
        return not self.open and self.signed is None


@dataclass(frozen=True, slots=True)
class SignHead:
    """One head of the job."""

    name: str
    lines: tuple[SignLine, ...]


def sign_page(
    request: Request,
    db: Database,
    number: str,
    form: Form,
    status: int = 200,
    chosen: Sequence[int] | None = None,
) -> Response:
    """All heads of the job; what is finished is ticked."""
    with db.read() as session:
        job = the_job(session, number)
        rows = session.exec(select(Head).where(Head.job_id == job.id).order_by(col(Head.nth))).all()
        sheets = load_sheets(session, rows)
        customer = session.get(Customer, job.customer_id) if job.customer_id else None
    heads = [
        SignHead(
            name=f"{head.name} head" if head.name else f"Head {head.nth}",
            lines=tuple(
                _line(sheets[head.id], each, number)
                for each in sheets[head.id].rows.ports
                if each.port.work not in (Work.LEAVE, Work.UNDECIDED)
            ),
        )
        for head in rows
    ]
    every = [line for head in heads for line in head.lines]
    return page(
        request,
        "signatures/new.html",
        status,
        nav="bench",
        job=job,
        who=who_of(job, customer),
        heads=heads,
        form=form,
        chosen=[line.port_id for line in every if line.is_ready] if chosen is None else chosen,
        ready=[line for line in every if line.is_ready],
        waiting=[line for line in every if line.open],
        signed=[line for line in every if line.signed and not line.open],
    )


def _line(sheet: HeadSheet, rows: PortRows, number: str) -> SignLine:
    unit = sheet.rows.job.job.unit.value
    facts = sheet.facts.port(rows.label)
    got = proved_sum(rows, sheet.rows.job.job.unit)
    gauged = bore_since_cut(rows)
    depth = gauged.one(Quantity.DEPTH) if gauged else None

    def told(point: object) -> str:
        closed = getattr(point, "is_closed_by_value", False)
        words = str(getattr(point, "told", ""))
        return words if closed or not words else f"not done: {words}"

    opens = (*open_before_metal(sheet, rows), *open_of(sheet, rows))
    return SignLine(
        port_id=rows.port.id,
        label=rows.label,
        about=f"cylinder {rows.port.cylinder} {rows.port.kind.screen}",
        work=rows.port.work.screen,
        ring=got.parts[0] if got else "",
        bore=got.parts[1] if got else "",
        interference=got.total if got else "",
        depth=depth.shown(unit) if depth else "",
        width=told(facts.seat_width),
        run_out=told(facts.seat_run_out),
        stem=told(facts.stem_after),
        deviation=facts.deviation,
        signed=rows.signature.at if rows.signature is not None else None,
        open=tuple(places_of(opens, sheet, number)),
    )
