"""What the same casting was when it was here before: proposed, never a measured value."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, or_, select

from app.models.head import Head, Port
from app.models.job import Job
from app.models.ring import RingSet
from app.workflow.layout import other_bank
from app.workflow.words import Kind


@dataclass(frozen=True, slots=True)
class LabelSize:
    """The label of the seat rings that went into one kind of position."""

    kind: Kind
    ring_set: RingSet


@dataclass(frozen=True, slots=True)
class SeenBefore:
    """An earlier head of this casting, the other head of the job, or the one that came back."""

    head: Head
    number: str
    taken_in_at: datetime
    is_comeback: bool
    is_sibling: bool
    labels: tuple[LabelSize, ...]
    rules: tuple[Port, ...]

    @property
    def cylinders(self) -> str:
        """Its cylinder numbers; of the other head of a pair those that are left for this one."""
        head = self.head
        if not self.is_sibling or not head.layout or not head.valves_per_cylinder:
            return head.cylinders
        valves = sum(letter in "EI" for letter in head.layout)
        return other_bank(head.cylinders, valves // head.valves_per_cylinder)

    @property
    def told(self) -> str:
        """``grey iron, EIIEEIIE, numbered from the timing end``."""
        head = self.head
        end = f"numbered from the {head.numbered_from}" if head.numbered_from else ""
        numbers = self.cylinders
        cylinders = f"cylinders {numbers}" if numbers else ""
        material = head.material.screen if head.material else ""
        return ", ".join(filter(None, [material, head.layout, cylinders, end, head.engine]))


def seen_before(session: Session, head: Head, casting: str = "") -> SeenBefore | None:
    """The newest earlier head to take a description from; `casting` as it is being typed."""
    wanted = casting or head.casting
    found = _of_casting(session, wanted, head) if wanted else None
    is_comeback = False
    if found is None and not wanted:
        found = _of_job(session, head)
    if found is None and not wanted:
        found, is_comeback = _of_comeback(session, head), True
    if found is None:
        return None
    other, job = found
    return SeenBefore(
        head=other,
        number=job.number,
        taken_in_at=job.taken_in_at,
        is_comeback=is_comeback,
        is_sibling=other.job_id == head.job_id,
        labels=label_sizes(session, other),
        rules=tuple(
            session.exec(
                select(Port)
                .where(
                    Port.head_id == other.id,
                    col(Port.is_void).is_(False),
                    col(Port.rule_aim).is_not(None),
                )
                .order_by(col(Port.place))
            )
        ),
    )


def label_sizes(session: Session, head: Head) -> tuple[LabelSize, ...]:
    """Which labels the seat rings had, by kind of position."""
    rows = session.exec(
        select(Port.kind, RingSet)
        .join(RingSet, col(RingSet.id) == col(Port.ring_set_id))
        .where(Port.head_id == head.id, col(Port.is_void).is_(False))
        .order_by(col(Port.place))
    )
    found: dict[tuple[Kind, int], LabelSize] = {}
    for kind, ring_set in rows:
        if ring_set.label_od is not None:
            found.setdefault((Kind(kind), ring_set.id), LabelSize(Kind(kind), ring_set))
    return tuple(found.values())


def _of_casting(session: Session, casting: str, head: Head) -> tuple[Head, Job] | None:
    return session.exec(
        select(Head, Job)
        .join(Job, col(Job.id) == col(Head.job_id))
        .where(
            Head.casting == casting,
            Head.id != head.id,
            or_(col(Head.layout) != "", col(Head.material).is_not(None)),
            col(Job.voided_at).is_(None),
        )
        .order_by(col(Head.id).desc())
        .limit(1)
    ).first()


def _of_job(session: Session, head: Head) -> tuple[Head, Job] | None:
    return session.exec(
        select(Head, Job)
        .join(Job, col(Job.id) == col(Head.job_id))
        .where(Head.job_id == head.job_id, Head.id != head.id, col(Head.layout) != "")
        .order_by(col(Head.nth))
        .limit(1)
    ).first()


def _of_comeback(session: Session, head: Head) -> tuple[Head, Job] | None:
    job = session.get(Job, head.job_id)
    if job is None or job.comeback_of_id is None:
        return None
    same = Head.id == head.comeback_of_id if head.comeback_of_id else Head.name == head.name
    return session.exec(
        select(Head, Job)
        .join(Job, col(Job.id) == col(Head.job_id))
        .where(Head.job_id == job.comeback_of_id, same)
        .order_by(col(Head.nth))
        .limit(1)
    ).first()
