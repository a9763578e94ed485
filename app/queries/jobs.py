"""A job as the counter's page shows it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlmodel import Session, col, select

from app.calc.units import Length
from app.models.customer import Customer
from app.models.head import Head, Port
from app.models.job import Consent, Job, Note, NoteTaken, PriceLine
from app.models.person import Person
from app.queries.asked import asked_since
from app.queries.castings import SeenBefore, seen_before
from app.queries.comebacks import Return, return_of, returns_of
from app.queries.handed_on import colleagues
from app.queries.head_decisions import Decision, newest_decisions
from app.queries.history import Happened, history
from app.queries.notices import Given, notices_of
from app.queries.papers import Paper, papers_of
from app.queries.people import readers
from app.queries.photos import Shown, photos_of
from app.queries.received import counted
from app.queries.stage_times import rates_now
from app.workflow.kinds import CustomerKind, NoteKind
from app.workflow.next_step import NextStep, next_step
from app.workflow.parts import differences
from app.workflow.planning import WorkLeft, work_left
from app.workflow.status import JobStatus, head_name, status_of
from app.workflow.words import counted as counted_words
from app.workflow.words import listed, metal_told
from app.worksheets.decks import removed_from
from app.worksheets.facts import HeadSheet, job_facts, load_sheets, shop_zone
from app.worksheets.shop_rules import current_rules

SHOWN_ON_THE_JOB = 12


@dataclass(frozen=True)
class HeadView:
    """One head of the page."""

    sheet: HeadSheet
    name: str
    described: str
    metal: str
    seen: SeenBefore | None
    decision: Decision | None  # how it goes on after inspection
    deck: Length | None  # what came off its deck

    @property
    def head(self) -> Head:
        """Its row."""
        return self.sheet.head


@dataclass(frozen=True, slots=True)
class NoteView:
    """A note or call with its writer and what it is about."""

    note: Note
    by: str
    about: str
    for_whom: str = ""
    taken_by: str = ""
    taken_at: datetime | None = None


@dataclass(frozen=True)
class JobView:
    """Everything on the counter's page of one job."""

    job: Job
    who: str
    customer: Customer | None
    taken_in_by: str
    heads: tuple[HeadView, ...]
    status: JobStatus
    next: NextStep | None
    consent: Consent | None
    earlier_consents: tuple[Consent, ...]
    lines: tuple[PriceLine, ...]
    notes: tuple[NoteView, ...]
    received: dict[str, int]
    handed_out: dict[str, int]
    papers: tuple[Paper, ...]
    photos: tuple[Shown, ...]
    history: tuple[Happened, ...]
    notices: tuple[Given, ...]
    people: tuple[tuple[int, str], ...]  # whom a note can be handed on to
    left: WorkLeft
    comeback_of: Return | None
    came_back_as: tuple[Return, ...]

    @property
    def is_over(self) -> bool:
        """Ended or voided."""
        return self.job.ended_as is not None or self.job.voided_at is not None

    @property
    def parts_differ(self) -> tuple[str, ...]:
        """Where what was counted out is not what came in."""
        return differences(self.received, self.handed_out)

    @property
    def total(self) -> int:
        """The price lines that stand."""
        return sum(line.amount for line in self.lines if line.voided_at is None)

    @property
    def over_limit(self) -> int:
        """By how much the total is past what was agreed; 0 when it is not."""
        limit = self.consent.limit_amount if self.consent else None
        return max(0, self.total - limit) if limit is not None else 0


def job_numbered(session: Session, number: str) -> Job | None:
    """A job by its number."""
    return session.exec(select(Job).where(Job.number == number)).first()


def who_of(job: Job, customer: Customer | None) -> str:
    """Whom a job is for, in a few words."""
    if job.customer_kind is not CustomerKind.NAMED or customer is None:
        return job.customer_kind.screen.capitalize()
    return customer.name or "a customer whose name was emptied"


def show_job(session: Session, job: Job, today: date) -> JobView:
    """Gather the page; the number of statements does not grow with positions or notes."""
    rows = session.exec(select(Head).where(Head.job_id == job.id).order_by(col(Head.nth))).all()
    sheets = load_sheets(session, rows)
    zone = shop_zone(session)
    facts = job_facts(job, [sheets[head.id].facts for head in rows], today, zone)
    since = asked_since(session, [job], {job.id: facts}, zone)
    facts = replace(facts, asked_since=since.get(job.id))
    consents = session.exec(
        select(Consent).where(Consent.job_id == job.id).order_by(col(Consent.id).desc())
    ).all()
    customer = session.get(Customer, job.customer_id) if job.customer_id else None
    taken_in_by = session.get(Person, job.taken_in_by_id)
    decks = removed_from(session, [head.id for head in rows])
    decisions = newest_decisions(session, sheets)
    return JobView(
        job=job,
        who=who_of(job, customer),
        customer=customer,
        taken_in_by=taken_in_by.name if taken_in_by else "",
        heads=tuple(
            HeadView(
                sheet=sheets[head.id],
                name=head_name(sheets[head.id].facts, len(rows)),
                described=described(head),
                metal=metal_told(head.material, head.heat_history),
                seen=seen_before(session, head) if not head.layout else None,
                decision=decisions.get(head.id),
                deck=decks.get(head.id),
            )
            for head in rows
        ),
        status=status_of(facts),
        next=next_step(facts),
        consent=consents[0] if consents else None,
        earlier_consents=tuple(consents[1:]),
        lines=tuple(
            session.exec(
                select(PriceLine).where(PriceLine.job_id == job.id).order_by(col(PriceLine.id))
            )
        ),
        notes=_notes(session, job),
        received=counted(session, job.id, is_out=False),
        handed_out=counted(session, job.id, is_out=True),
        papers=papers_of(session, job),
        photos=tuple(shown for shown in photos_of(session, job) if shown.struck_because is None),
        history=tuple(history(session, job.id, most=SHOWN_ON_THE_JOB)),
        notices=tuple(notices_of(session, job)),
        people=tuple(colleagues(session)),
        left=work_left(facts.heads, rates_now(session, current_rules(session))),
        comeback_of=return_of(session, job),
        came_back_as=returns_of(session, job),
    )


def described(head: Head) -> str:
    """``four-cylinder head, 8 valves``; what is not known is left out."""
    if not head.layout or head.valves_per_cylinder is None:
        return "valve layout not known yet"
    valves = sum(letter in "EI" for letter in head.layout)
    cylinders = valves // head.valves_per_cylinder
    return f"{_CARDINALS.get(cylinders, str(cylinders))}-cylinder head, {valves} valves"


def summary(view: JobView) -> str:
    """``one head, grey iron, inch``: what the strip says of the heads."""
    heads = [each.head for each in view.heads]
    count = "one head" if len(heads) == 1 else counted_words(len(heads), "head")
    materials = list(
        dict.fromkeys(filter(None, (metal_told(h.material, h.heat_history) for h in heads)))
    )
    return ", ".join(filter(None, [count, listed(materials), view.job.unit.screen]))


def places_in_use(session: Session) -> list[str]:
    """Rack places of open jobs, to choose from while typing."""
    rows = session.exec(
        select(Job.place)
        .where(col(Job.ended_at).is_(None), col(Job.place) != "")
        .distinct()
        .order_by(col(Job.place))
        .limit(60)
    )
    return list(rows)


def _notes(session: Session, job: Job) -> tuple[NoteView, ...]:
    rows = session.exec(
        select(Note, Person.name, Head.name, Port.label)
        .join(Person, col(Person.id) == col(Note.by_id))
        .join(Head, col(Head.id) == col(Note.head_id), isouter=True)
        .join(Port, col(Port.id) == col(Note.port_id), isouter=True)
        .where(Note.job_id == job.id)
        .order_by(col(Note.id).desc())
    ).all()
    if not any(note.kind is NoteKind.HAND_ON for note, *_ in rows):
        taken, names = {}, {}
    else:
        names = dict(readers(session))
        taken = {
            each.note_id: each
            for each in session.exec(
                select(NoteTaken)
                .join(Note, col(Note.id) == col(NoteTaken.note_id))
                .where(Note.job_id == job.id)
            )
        }
    return tuple(
        NoteView(
            note=note,
            by=by,
            about=" ".join(filter(None, [head, label])),
            for_whom=names.get(note.for_id or 0, ""),
            taken_by=names[taken[note.id].by_id] if note.id in taken else "",
            taken_at=taken[note.id].at if note.id in taken else None,
        )
        for note, by, head, label in rows
    )


_CARDINALS = {
    1: "one",
    2: "two",
    3: "three",
    4: "four",
    5: "five",
    6: "six",
    7: "seven",
    8: "eight",
    10: "ten",
    12: "twelve",
}
