"""Kept readings, gathered: which of them count, which are in doubt."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import bindparam, null
from sqlalchemy.orm import aliased
from sqlmodel import Session, col, select

from app.calc.units import Length
from app.models.person import Person
from app.models.reading import Reading, ReadingKept, ReadingSet, ReadingStrike
from app.models.shop import ShopRule
from app.workflow.kept import Kept, Subject, SubjectKind
from app.workflow.kinds import Quantity, ReadingKind
from app.workflow.shop_rules import RULES

__all__ = ["Kept", "Readings", "Subject", "SubjectKind", "load_kinds", "load_one", "load_readings"]

DAY = "temperature_c"
# Sizes that are taken to 20 °C: by what the shop was at when they were read, not by today.
_WARM = frozenset({ReadingKind.RING, ReadingKind.BORE, ReadingKind.NEW_GUIDES})


@dataclass(frozen=True)
class Readings:
    """The readings of one kind on one subject since it was last read afresh."""

    subject: Subject
    kind: ReadingKind
    set: ReadingSet | None = None  # the newest, whose instrument and temperatures hold
    all: tuple[Kept, ...] = ()
    _by_cell: dict[tuple[Quantity, str], Kept] = field(default_factory=dict)
    shop_c: float = float(RULES[DAY].default)  # the shop's temperature when they were read

    @property
    def part_c(self) -> float:
        """The part's temperature: its own as typed, else the shop's at the time."""
        own = self.set.part_temperature_c if self.set else None
        return self.shop_c if own is None else own

    @property
    def gauge_c(self) -> float:
        """The gauge's temperature: its own as typed, else the shop's at the time."""
        own = self.set.gauge_temperature_c if self.set else None
        return self.shop_c if own is None else own

    @property
    def by_the_shop(self) -> bool:
        """No temperature was typed: the shop's stands for part and gauge."""
        found = self.set
        return found is None or (
            found.part_temperature_c is None and found.gauge_temperature_c is None
        )

    @property
    def counting(self) -> tuple[Kept, ...]:
        """Those not struck, in the order they were taken."""
        return tuple(kept for kept in self.all if kept.counts)

    def only(self, quantity: Quantity) -> Readings:
        """Those of one quantity, struck ones too."""
        return replace(self, all=tuple(kept for kept in self.all if kept.quantity is quantity))

    def of(self, quantity: Quantity) -> tuple[Kept, ...]:
        """Those of one quantity that count."""
        return tuple(kept for kept in self.counting if kept.quantity is quantity)

    def values(self, quantity: Quantity) -> list[Length]:
        """Their lengths."""
        return [kept.value for kept in self.of(quantity)]

    def at(self, quantity: Quantity, place: str) -> Kept | None:
        """The one that counts at a place."""
        return self._by_cell.get((quantity, place))

    def one(self, quantity: Quantity) -> Length | None:
        """The newest value of a quantity that is read once."""
        found = self.of(quantity)
        return found[-1].value if found else None

    @property
    def newest_at(self) -> datetime | None:
        """When the last one was taken."""
        return max((kept.taken_at for kept in self.counting), default=None)

    @property
    def newest_kept_at(self) -> datetime | None:
        """When the last one was typed in: after it was taken, when it was read on paper."""
        return max((kept.kept_at for kept in self.counting), default=None)


def load_readings(
    session: Session, kind: ReadingKind, subject: SubjectKind, ids: Iterable[int]
) -> dict[int, Readings]:
    """The readings of one kind on each of these subjects, in two statements."""
    return load_kinds(session, (kind,), subject, ids)[kind]


def load_kinds(
    session: Session, kinds: Sequence[ReadingKind], subject: SubjectKind, ids: Iterable[int]
) -> dict[ReadingKind, dict[int, Readings]]:
    """The readings of several kinds on each of these subjects, in two statements for all."""
    wanted = list(ids)
    if not wanted:
        return {kind: {} for kind in kinds}
    sets = session.exec(
        _sets(subject, not _WARM.isdisjoint(kinds)), params={"kinds": list(kinds), "ids": wanted}
    ).all()
    by_subject: dict[tuple[ReadingKind, int], list[ReadingSet]] = defaultdict(list)
    shop_c: dict[int, str | None] = {}
    for found, shop in sets:
        shop_c[found.id] = shop
        mine = by_subject[found.kind, getattr(found, f"{subject}_id")]
        if found.is_afresh:
            mine.clear()
        mine.append(found)
    cell = {found.id: key for key, mine in by_subject.items() for found in mine}
    kept: dict[tuple[ReadingKind, int], list[Kept]] = defaultdict(list)
    for row in _rows(session, list(cell)):
        kept[cell[row[0].reading_set_id]].append(_kept(*row))
    return {
        kind: {
            subject_id: _readings(
                Subject(subject, subject_id),
                kind,
                by_subject[kind, subject_id],
                kept[kind, subject_id],
                shop_c,
            )
            for subject_id in wanted
        }
        for kind in kinds
    }


def load_one(session: Session, kind: ReadingKind, subject: Subject) -> Readings:
    """The readings of one kind on one subject."""
    return load_readings(session, kind, subject.kind, [subject.id])[subject.id]


# Built once: building these takes as long as running them, and every page and write does.


@cache
def _sets(subject: SubjectKind, are_warm: bool) -> Any:
    column = col(getattr(ReadingSet, f"{subject}_id"))
    return (
        select(ReadingSet, _temperature_then() if are_warm else null())
        .where(
            col(ReadingSet.kind).in_(bindparam("kinds", expanding=True)),
            column.in_(bindparam("ids", expanding=True)),
        )
        .order_by(col(ReadingSet.id))
    )


def _temperature_then() -> Any:
    """What the shop's temperature was when a set was begun; empty before anyone said it."""
    return (
        select(ShopRule.value)
        .where(ShopRule.key == DAY, col(ShopRule.at) <= col(ReadingSet.at))
        .order_by(col(ShopRule.id).desc())
        .limit(1)
        .correlate(ReadingSet)
        .scalar_subquery()
    )


def _rows(
    session: Session, set_ids: Sequence[int]
) -> Iterable[tuple[Reading, str | None, str | None, str, str]]:
    if not set_ids:
        return []
    found: Iterable[tuple[Reading, str | None, str | None, str, str]] = session.exec(
        _readings_of(), params={"ids": list(set_ids)}
    ).all()
    return found


@cache
def _readings_of() -> Any:
    sender = aliased(Person)
    # One column more than select() has types for.
    return (
        select(Reading, ReadingStrike.reason, ReadingKept.reason, Person.name)
        .add_columns(col(sender.name))
        .join(Person, col(Person.id) == col(Reading.typed_by_id))
        .join(sender, col(sender.id) == col(Reading.sent_by_id))
        .outerjoin(ReadingStrike, col(ReadingStrike.reading_id) == col(Reading.id))
        .outerjoin(ReadingKept, col(ReadingKept.reading_id) == col(Reading.id))
        .where(col(Reading.reading_set_id).in_(bindparam("ids", expanding=True)))
        .order_by(col(Reading.id))
    )


def _kept(
    reading: Reading, struck: str | None, kept_because: str | None, name: str, sent_by: str
) -> Kept:
    return Kept(
        id=reading.id,
        quantity=reading.quantity,
        place=reading.place,
        nth=reading.nth,
        value=reading.value,
        typed=reading.typed,
        unit=reading.unit,
        typed_by=name,
        taken_at=reading.taken_at,
        kept_at=reading.kept_at,
        sent_by=sent_by,
        struck_because=struck,
        kept_because=kept_because,
    )


def _readings(
    subject: Subject,
    kind: ReadingKind,
    sets: list[ReadingSet],
    kept: list[Kept],
    shop_c: dict[int, str | None],
) -> Readings:
    then = shop_c.get(sets[-1].id) if sets else None
    return Readings(
        subject=subject,
        kind=kind,
        set=sets[-1] if sets else None,
        all=tuple(kept),
        _by_cell={(one.quantity, one.place): one for one in kept if one.counts},
        shop_c=float(then or RULES[DAY].default),
    )
