"""Papers of a job: what was issued, in which revision, and what heads every sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, col, select

from app.models.customer import Customer
from app.models.head import Head
from app.models.job import Job
from app.models.material import ShopMaterial
from app.models.person import Person
from app.models.shop import Shop
from app.queries.jobs import described, who_of
from app.workflow.kinds import Unit
from app.worksheets.materials import newest_materials


@dataclass(frozen=True, slots=True)
class Issue:
    """How a sheet is marked: printed as a draft, or issued as a revision over the log so far."""

    at: datetime
    by: str
    rev: int | None = None
    log_head: str = ""

    @property
    def is_draft(self) -> bool:
        """Not issued."""
        return self.rev is None


@dataclass(frozen=True, slots=True)
class HeadLine:
    """One head as every sheet names it."""

    id: int
    name: str  # "left"; empty for the only head of a job
    nth: int
    count: int
    described: str
    casting: str
    serial: str
    engine: str
    fuel: str
    material: str
    heat_history: str
    layout: str
    numbered_from: str


@dataclass(frozen=True, slots=True)
class Letterhead:
    """Shop, job and customer, as every sheet begins."""

    shop: str
    number: str
    who: str
    unit: Unit
    wanted: str
    promised_on: date | None
    place: str
    taken_in_at: datetime
    taken_in_by: str
    comeback_of: str
    heads: tuple[HeadLine, ...]

    def head(self, head_id: int) -> HeadLine:
        """The head with this id."""
        return next(head for head in self.heads if head.id == head_id)


def letterhead(session: Session, job: Job) -> Letterhead:
    """What heads every sheet of a job."""
    customer = session.get(Customer, job.customer_id) if job.customer_id else None
    before = session.get(Job, job.comeback_of_id) if job.comeback_of_id else None
    return Letterhead(
        shop=session.get_one(Shop, 1).name,
        number=job.number,
        who=who_of(job, customer),
        unit=job.unit,
        wanted=job.wanted,
        promised_on=job.promised_on,
        place=job.place,
        taken_in_at=job.taken_in_at,
        taken_in_by=session.get_one(Person, job.taken_in_by_id).name,
        comeback_of=before.number if before else "",
        heads=heads_of(session, job),
    )


def heads_of(session: Session, job: Job) -> tuple[HeadLine, ...]:
    """The heads of a job in order; where there are several, each has a name."""
    heads = session.exec(select(Head).where(Head.job_id == job.id).order_by(col(Head.nth))).all()
    own = newest_materials(session, [head.alloy for head in heads if head.alloy])
    return tuple(_head_line(head, len(heads), own.get(head.alloy or "")) for head in heads)


def names_of_people(session: Session) -> Mapping[int, str]:
    """Everyone who ever signed in, by id."""
    return dict(session.exec(select(Person.id, Person.name)).all())


def _head_line(head: Head, count: int, alloy: ShopMaterial | None) -> HeadLine:
    casting = head.casting or ("no casting number found" if head.casting_none_found else "")
    material = head.material.screen if head.material else ""
    return HeadLine(
        id=head.id,
        name=head.name or (f"head {head.nth}" if count > 1 else ""),
        nth=head.nth,
        count=count,
        described=described(head),
        casting=casting,
        serial=head.serial,
        engine=head.engine,
        fuel=head.fuel,
        material=", ".join(filter(None, [material, alloy.name if alloy else ""])),
        heat_history=head.heat_history.screen if head.heat_history else "",
        layout=head.layout,
        numbered_from=head.numbered_from,
    )
