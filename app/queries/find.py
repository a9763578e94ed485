"""Finding any job by what stands in it, a page at a time, quick however many there are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Select, and_, or_
from sqlalchemy.orm import aliased
from sqlmodel import Session, col, select

from app.forms.find import FindForm, Promise, Sort, State
from app.models.job import Job
from app.queries.counter import (
    MOST_FOUND,
    MOST_OPEN,
    CounterLine,
    Show,
    lines_of,
    planned,
    shows,
)
from app.queries.job_words import kept_to, look_for, names_now, texts_of
from app.workflow.job_words import Source, Wanted, mark
from app.workflow.stages import stages_of
from app.workflow.words import Ended, Stage
from app.worksheets.facts import shop_zone

# What stands in a line of the list anyway.
_SHOWN = (Source.NUMBER, Source.CUSTOMER, Source.PHONE, Source.CASTING)
_MOST_PLACES = 3
_AROUND = 50


@dataclass(frozen=True, slots=True)
class Place:
    """Where a found job has what was looked for."""

    source: Source
    said: str


@dataclass(frozen=True, slots=True)
class Found:
    """One page: the jobs, where they were found, and the job that the next page goes on from."""

    lines: tuple[CounterLine, ...] = ()
    places: dict[int, tuple[Place, ...]] | None = None
    next_after: int | None = None

    def places_of(self, line: CounterLine) -> tuple[Place, ...]:
        """Where this one was found, beside what its line shows."""
        return (self.places or {}).get(line.job.id, ())


def find(session: Session, form: FindForm, today: date, most: int = 0) -> Found:
    """The jobs that fit words and filters, in the order asked for; a page's worth, or `most`."""
    most = most or MOST_FOUND
    what = look_for(session, form.q, [form.material] if form.material else [])
    if form.q and not what.groups:
        return Found()
    query, by_id = kept_to(session, select(Job), what)
    query = _filtered(query, form, shop_zone(session))
    if form.needs_open:
        found, after = _under_way(session, query, form, today, most)
    else:
        jobs, after = _page(session, query, by_id, form, most)
        found = lines_of(session, jobs, today)
    places = places_found(session, [line.job.id for line in found], what) if form.q else {}
    return Found(tuple(found), places, after)


def places_found(
    session: Session, job_ids: Sequence[int], what: Wanted
) -> dict[int, tuple[Place, ...]]:
    """Where jobs have what was looked for, other than where their line shows it."""
    names = names_now(session)
    found = {}
    for job_id, texts in texts_of(session, job_ids).items():
        places = [
            Place(source, _told(source, said, what, names))
            for source, said in texts
            if source not in _SHOWN and what.fits(source, said)
        ]
        found[job_id] = tuple(places[:_MOST_PLACES])
    return found


def _told(source: Source, said: str, what: Wanted, names: dict[str, list[str]]) -> str:
    if source in (Source.CUTTER, Source.PERSON):
        return names[mark(source, said)][0]
    pieces, at = said.split(), 0
    for nth, piece in enumerate(pieces):
        if what.fits(source, piece):
            at = nth
            break
    begins = at
    while begins and len(" ".join(pieces[begins - 1 : at])) <= _AROUND:
        begins -= 1
    ends = at + 1
    while ends < len(pieces) and len(" ".join(pieces[at : ends + 1])) <= _AROUND:
        ends += 1
    cut = " ".join(pieces[begins:ends])[: 3 * _AROUND]
    return f"{'… ' if begins else ''}{cut}{' …' if ends < len(pieces) else ''}"


def _filtered(query: Select[Any], form: FindForm, zone: ZoneInfo) -> Select[Any]:
    if form.state is State.VOIDED:
        query = query.where(col(Job.voided_at).is_not(None))
    else:
        query = query.where(col(Job.voided_at).is_(None))
    if form.needs_open or form.state is State.OPEN:
        query = query.where(col(Job.ended_at).is_(None))
    elif form.state is State.ENDED or form.sort is Sort.ENDED:
        query = query.where(col(Job.ended_at).is_not(None))
    if form.state is not None and form.state in set(map(str, Ended)):
        query = query.where(col(Job.ended_as) == Ended(form.state.value))
    if form.comeback:
        query = query.where(col(Job.comeback_of_id).is_not(None))
    if form.came_back:
        again = aliased(Job)
        firsts = select(again.comeback_of_id).where(
            col(again.comeback_of_id).is_not(None), col(again.voided_at).is_(None)
        )
        query = query.where(col(Job.id).in_(firsts))
    if form.since:
        query = query.where(col(Job.taken_in_at) >= _begins(form.since, zone))
    if form.until:
        query = query.where(col(Job.taken_in_at) < _begins(form.until + timedelta(1), zone))
    return query


def _begins(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(), zone)


def _page(
    session: Session, query: Select[Any], by_id: Any, form: FindForm, most: int
) -> tuple[list[Job], int | None]:
    """The page behind the last job of the one before, wherever that job stands now."""
    last = session.get(Job, form.after) if form.after else None
    if form.sort is Sort.OLD:
        query = query.order_by(by_id)
        query = query.where(by_id > last.id) if last else query
    elif form.sort is Sort.ENDED:
        query = query.order_by(col(Job.ended_at).desc(), col(Job.id).desc())
        if last and last.ended_at:
            together = and_(col(Job.ended_at) == last.ended_at, col(Job.id) < last.id)
            query = query.where(or_(col(Job.ended_at) < last.ended_at, together))
    else:
        query = query.order_by(by_id.desc())
        query = query.where(by_id < last.id) if last else query
    jobs = list(session.execute(query.limit(most + 1)).scalars())
    more = len(jobs) > most
    return jobs[:most], jobs[most - 1].id if more else None


def _under_way(
    session: Session, query: Select[Any], form: FindForm, today: date, most: int
) -> tuple[list[CounterLine], int | None]:
    """Open jobs only, which are few: how far they are is worked from their facts."""
    orders: dict[Sort, list[Any]] = {
        Sort.OLD: [col(Job.id)],
        Sort.PROMISED: [col(Job.promised_on).is_(None), col(Job.promised_on), col(Job.id)],
    }
    order = orders.get(form.sort, [col(Job.id).desc()])
    jobs = session.execute(query.order_by(*order).limit(MOST_OPEN)).scalars().all()
    lines = lines_of(session, jobs, today)
    if form.promise is Promise.LATE:
        lines = planned(session, lines, today)
    lines = [line for line in lines if _is_asked_for(line, form, today)]
    ids = [line.job.id for line in lines]
    start = ids.index(form.after) + 1 if form.after in ids else 0
    lines = lines[start : start + most]
    more = len(ids) > start + most
    return lines, lines[-1].job.id if more else None


def _is_asked_for(line: CounterLine, form: FindForm, today: date) -> bool:
    if form.stage is not None and form.stage not in _stages(line):
        return False
    if form.promise is Promise.NONE:
        promise = line.job.promised_on is None
    else:
        kind = {Promise.LATE: Show.LATE, Promise.SOON: Show.SOON}
        promise = form.promise is None or shows(kind[form.promise], line, today)
    return (
        promise
        and (not form.hold or shows(Show.HOLD, line, today))
        and (not form.waiting or shows(Show.WAITING, line, today))
    )


def _stages(line: CounterLine) -> set[Stage]:
    """The stages at which a job has a position; one that is not laid out yet is taken in."""
    found = {at.stage for head in line.facts for at in stages_of(head).values()}
    return found or {Stage.INTAKE}
