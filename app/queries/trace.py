"""From a lot, a tool, a gauge or a rule to every position that it touched."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Select, or_
from sqlmodel import Session, col, func, select

from app.models.crib import Cutter, Instrument, InstrumentCheck, Pilot, TipChange
from app.models.head import Head, Port
from app.models.job import Job
from app.models.port_pass import Cut, PortPass, RingIn
from app.models.reading import Reading, ReadingSet, ReadingStrike
from app.models.result import NoLongerStands, Result
from app.models.ring import Ring, RingSet
from app.models.setting import Setting
from app.workflow.kinds import Said

MOST_SHOWN = 60


class TraceOf(Said):
    """What a trace starts from."""

    LOT = "lot", "seat rings of lot"
    CUTTER = "cutter", "cutter"
    TIP = "tip", "tip of cutter"
    PILOT = "pilot", "pilot"
    INSTRUMENT = "instrument", "instrument"
    DOUBT = "doubt", "read since it last held: instrument"
    RULE = "rule", "interference rule"


@dataclass(frozen=True, slots=True)
class Touched:
    """One pass of a position."""

    pass_id: int
    number: str
    head: str
    label: str
    port_id: int
    nth: int
    outcome: str
    because: str  # why something accepted on it no longer stands; empty while all of it does


@dataclass(frozen=True, slots=True)
class Trace:
    """What it starts from, by its name now, and one page of passes, the newest first."""

    name: str
    touched: tuple[Touched, ...]
    next_after: int | None


def trace(session: Session, of: TraceOf, which: str, after: int | None) -> Trace | None:
    """Every pass that was touched; None when there is no such thing."""
    number = int(which) if which.isascii() and which.isdigit() and len(which) <= 9 else 0
    name = _name(session, of, which, number)
    if name is None:
        return None
    query = (
        select(PortPass, Port, Head.name, Job.number)
        .join(Port, col(Port.id) == col(PortPass.port_id))
        .join(Head, col(Head.id) == col(Port.head_id))
        .join(Job, col(Job.id) == col(Head.job_id))
        .where(_passes(session, of, which, number))
        .order_by(col(PortPass.id).desc())
        .limit(MOST_SHOWN + 1)
    )
    if after is not None:
        query = query.where(col(PortPass.id) < after)
    rows = session.exec(query).all()
    shown = rows[:MOST_SHOWN]
    because = dict(
        session.exec(
            select(Result.port_pass_id, NoLongerStands.because)
            .join(NoLongerStands, col(NoLongerStands.result_id) == col(Result.id))
            .where(col(Result.port_pass_id).in_([each.id for each, *_ in shown]))
            .order_by(col(NoLongerStands.id))
        ).all()
    )
    touched = tuple(
        Touched(
            pass_id=each.id,
            number=job,
            head=head,
            label=port.label,
            port_id=port.id,
            nth=each.nth,
            outcome=each.outcome.screen if each.outcome else "under way",
            because=because.get(each.id, ""),
        )
        for each, port, head, job in shown
    )
    return Trace(name, touched, touched[-1].pass_id if len(rows) > MOST_SHOWN else None)


def _name(session: Session, of: TraceOf, which: str, number: int) -> str | None:
    if of is TraceOf.TIP:
        tip = session.get(TipChange, number)
        return f"{session.get_one(Cutter, tip.cutter_id).name}, {tip.what}" if tip else None
    if of in (TraceOf.LOT, TraceOf.RULE):
        return which or None
    tables: dict[TraceOf, Any] = {TraceOf.CUTTER: Cutter, TraceOf.PILOT: Pilot}
    tool = session.get(tables.get(of, Instrument), number)
    return tool.name if tool else None


def _passes(session: Session, of: TraceOf, which: str, number: int) -> Any:
    own = col(PortPass.id)
    if of is TraceOf.RULE:
        return col(PortPass.rule_source) == which
    if of is TraceOf.LOT:
        sets = select(col(RingSet.id)).where(RingSet.lot == which)
        pressed = (
            select(col(RingIn.port_pass_id))
            .join(Ring, col(Ring.id) == col(RingIn.ring_id))
            .where(col(Ring.ring_set_id).in_(sets))
        )
        return or_(col(PortPass.ring_set_id).in_(sets), own.in_(pressed))
    if of in (TraceOf.INSTRUMENT, TraceOf.DOUBT):
        kept = _read_with(session, number, since_it_held=of is TraceOf.DOUBT)
        return or_(
            own.in_(kept(col(ReadingSet.port_pass_id))),
            col(PortPass.port_id).in_(kept(col(ReadingSet.port_id))),
            col(PortPass.ring_id).in_(kept(col(ReadingSet.ring_id))),
        )
    of_setting = {
        TraceOf.CUTTER: col(Setting.cutter_id),
        TraceOf.TIP: col(Setting.tip_change_id),
        TraceOf.PILOT: col(Setting.pilot_id),
    }[of]
    return own.in_(
        select(col(Cut.port_pass_id))
        .join(Setting, col(Setting.id) == col(Cut.setting_id))
        .where(of_setting == number)
    )


def _read_with(session: Session, instrument_id: int, *, since_it_held: bool) -> Any:
    held = None
    if since_it_held:
        held = session.exec(
            select(func.max(col(InstrumentCheck.at))).where(
                InstrumentCheck.instrument_id == instrument_id, col(InstrumentCheck.is_within)
            )
        ).one()

    def subjects(column: Any) -> Select[Any]:
        query = (
            select(column)
            .join(Reading, col(Reading.reading_set_id) == col(ReadingSet.id))
            .outerjoin(ReadingStrike, col(ReadingStrike.reading_id) == col(Reading.id))
            .where(
                ReadingSet.with_instrument_id == instrument_id,
                column.is_not(None),
                col(ReadingStrike.id).is_(None),
            )
        )
        return query.where(col(Reading.taken_at) > held) if held is not None else query

    return subjects
