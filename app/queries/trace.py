"""From a lot, a tool, a gauge or a rule to every position that it touched."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import and_, or_
from sqlalchemy.orm import aliased
from sqlmodel import Session, col, func, select

from app.calc.rules import DEFAULT_RULES, Rule
from app.models.crib import Cutter, Instrument, InstrumentCheck, Pilot, TipChange
from app.models.head import Head, Port
from app.models.job import Job
from app.models.port_pass import Cut, PortPass, RingIn
from app.models.reading import Reading, ReadingSet, ReadingStrike
from app.models.result import NoLongerStands, Result
from app.models.ring import Ring, RingSet
from app.models.setting import Setting
from app.models.shop import InterferenceRule, ShopRule
from app.workflow.kinds import Said, Unit
from app.workflow.shop_rules import RULES, shown_rule
from app.workflow.words import Material
from app.worksheets.interference import band_words

MOST_SHOWN = 60
# What one page looks at in a gauge's readings, which may be of rings that nobody used.
SETS_AT_ONCE, MOST_LOOKS = 400, 5
# A set is read into for days; by far not for so long.
LONGEST_READ_INTO = timedelta(days=365)


class TraceOf(Said):
    """What a trace starts from."""

    LOT = "lot", "seat rings of lot"
    CUTTER = "cutter", "cutter"
    TIP = "tip", "tip of cutter"
    PILOT = "pilot", "pilot"
    INSTRUMENT = "instrument", "instrument"
    DOUBT = "doubt", "read since it last held: instrument"
    RULE = "rule", "interference rule"
    WINDOW = "window", "a version of the shop's interference window"
    DEFAULT_WINDOW = "default_window", "a default interference window"
    SHOP_RULE = "shop_rule", "a version of a shop rule"


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
    touched_by: str  # how these positions were touched
    touched: tuple[Touched, ...]
    next_after: int | None


def trace(session: Session, of: TraceOf, which: str, after: int | None) -> Trace | None:
    """Every pass that was touched; None when there is no such thing."""
    number = int(which) if which.isascii() and which.isdigit() and len(which) <= 9 else 0
    name = _name(session, of, which, number)
    if name is None:
        return None
    go_on = None
    if of in (TraceOf.INSTRUMENT, TraceOf.DOUBT):
        steps, go_on = _read_with(session, number, after, since_it_held=of is TraceOf.DOUBT)
    else:
        steps = _steps(session, of, which, number, after)
    shown, next_after = _page(steps)
    next_after = next_after or go_on
    rows = {
        each.id: (each, port, head, job)
        for each, port, head, job in session.exec(
            select(PortPass, Port, Head.name, Job.number)
            .join(Port, col(Port.id) == col(PortPass.port_id))
            .join(Head, col(Head.id) == col(Port.head_id))
            .join(Job, col(Job.id) == col(Head.job_id))
            .where(col(PortPass.id).in_(shown))
        )
    }
    because = dict(
        session.exec(
            select(Result.port_pass_id, NoLongerStands.because)
            .join(NoLongerStands, col(NoLongerStands.result_id) == col(Result.id))
            .where(col(Result.port_pass_id).in_(rows))
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
        for each, port, head, job in (rows[pass_id] for pass_id in shown)
    )
    return Trace(name, _TOUCHED_BY.get(of, "it touched"), touched, next_after)


_TOUCHED_BY = {
    TraceOf.WINDOW: "whose counterbore was worked out by it",
    TraceOf.DEFAULT_WINDOW: "whose counterbore was worked out by it",
    TraceOf.SHOP_RULE: "that was worked on while it held",
}


def _name(session: Session, of: TraceOf, which: str, number: int) -> str | None:
    if of is TraceOf.TIP:
        tip = session.get(TipChange, number)
        return f"{session.get_one(Cutter, tip.cutter_id).name}, {tip.what}" if tip else None
    if of is TraceOf.WINDOW:
        window = session.get(InterferenceRule, number)
        if window is None or window.retired:
            return None
        fit = "/".join(size.shown("in") for size in (window.least, window.aim, window.most))
        return f"{_words_of(window, Unit.INCH)}, {fit} in"
    if of is TraceOf.DEFAULT_WINDOW:
        known = DEFAULT_RULES[number - 1] if 0 < number <= len(DEFAULT_RULES) else None
        return _words_of(known, Unit.INCH) if known else None
    if of is TraceOf.SHOP_RULE:
        rule = session.get(ShopRule, number)
        meant = RULES.get(rule.key) if rule else None
        return f"{meant.words}: {shown_rule(meant, rule.value)}" if rule and meant else None
    if of in (TraceOf.LOT, TraceOf.RULE):
        return which or None
    tables: dict[TraceOf, Any] = {TraceOf.CUTTER: Cutter, TraceOf.PILOT: Pilot}
    tool = session.get(tables.get(of, Instrument), number)
    return tool.name if tool else None


def _page(steps: Sequence[tuple[int, int]]) -> tuple[list[int], int | None]:
    """The passes of one page, and where the next goes on; one place is never parted."""
    ends = MOST_SHOWN
    while ends < len(steps) and steps[ends][0] == steps[ends - 1][0]:
        ends += 1
    shown = list(dict.fromkeys(pass_id for _, pass_id in steps[:ends]))
    return shown, steps[ends - 1][0] if ends < len(steps) else None


def _steps(
    session: Session, of: TraceOf, which: str, number: int, after: int | None
) -> list[tuple[int, int]]:
    """One page and one more: where each stands in this trace, and the pass.

    Each walks an index from its newest end, so that a page costs the same however long the tool
    was at work; what it stands on is what the next page goes on from.
    """
    if of is TraceOf.LOT:
        query = _of_lot(which)
    elif of is TraceOf.RULE:
        query = _of_passes(col(PortPass.rule_source) == which)
    elif of is TraceOf.WINDOW:
        query = _of_passes(_worked_by(session.get_one(InterferenceRule, number)))
    elif of is TraceOf.DEFAULT_WINDOW:
        query = _of_passes(_worked_by(DEFAULT_RULES[number - 1]))
    elif of is TraceOf.SHOP_RULE:
        query = _of_passes(_while_it_held(session, session.get_one(ShopRule, number)))
    else:
        return _cut_with(session, of, number, after)
    if after is not None:
        query = query.where(col(PortPass.id) < after)
    rows = session.exec(query.order_by(col(PortPass.id).desc()).limit(MOST_SHOWN + 1))
    return [(step, pass_id) for step, pass_id in rows]


def _of_passes(which: Any) -> Any:
    return select(col(PortPass.id), col(PortPass.id)).where(which)


def _of_lot(lot: str) -> Any:
    sets = select(col(RingSet.id)).where(RingSet.lot == lot)
    pressed = (
        select(col(RingIn.port_pass_id))
        .join(Ring, col(Ring.id) == col(RingIn.ring_id))
        .where(col(Ring.ring_set_id).in_(sets))
    )
    return select(col(PortPass.id), col(PortPass.id)).where(
        or_(col(PortPass.ring_set_id).in_(sets), col(PortPass.id).in_(pressed))
    )


def _words_of(rule: InterferenceRule | Rule, unit: Unit) -> str:
    """As a pass names the rule that its counterbore was worked by, in the unit of its job."""
    material = Material(rule.material.value).screen
    return f"{material}, {band_words(rule.od_from, rule.od_below, unit.value)}: {rule.source}"[:200]


def _worked_by(rule: InterferenceRule | Rule) -> Any:
    fit = rule.interference if isinstance(rule, Rule) else rule
    return and_(
        col(PortPass.rule_source).in_([_words_of(rule, unit) for unit in Unit]),
        col(PortPass.rule_least) == fit.least,
        col(PortPass.rule_aim) == fit.aim,
        col(PortPass.rule_most) == fit.most,
    )


def _while_it_held(session: Session, rule: ShopRule) -> Any:
    later = ShopRule.key == rule.key, col(ShopRule.id) > rule.id
    after = session.exec(select(func.min(col(ShopRule.at))).where(*later)).one()
    open_then = or_(col(PortPass.closed_at).is_(None), col(PortPass.closed_at) >= rule.at)
    return and_(open_then, col(PortPass.opened_at) < after) if after else open_then


def _cut_with(
    session: Session, of: TraceOf, number: int, after: int | None
) -> list[tuple[int, int]]:
    """By setting, then by cut, the newest first; a pass stands where it was cut last."""
    column = {
        TraceOf.CUTTER: "cutter_id",
        TraceOf.TIP: "tip_change_id",
        TraceOf.PILOT: "pilot_id",
    }[of]
    later, of_later = aliased(Cut), aliased(Setting)
    cut_later = (
        select(later.id)
        .join(of_later, col(of_later.id) == col(later.setting_id))
        .where(
            later.port_pass_id == col(Cut.port_pass_id),
            later.id > col(Cut.id),
            getattr(of_later, column) == number,
        )
        .exists()
    )
    query = (
        select(Cut.id, Cut.port_pass_id)
        .join(Setting, col(Setting.id) == col(Cut.setting_id))
        .where(getattr(Setting, column) == number, ~cut_later)
        .order_by(col(Setting.id).desc(), col(Cut.id).desc())
        .limit(MOST_SHOWN + 1)
    )
    last = session.get(Cut, after) if after is not None else None
    if last is not None:
        together = and_(col(Setting.id) == last.setting_id, col(Cut.id) >= last.id)
        query = query.where(col(Setting.id) <= last.setting_id, ~together)
    return [(cut_id, pass_id) for cut_id, pass_id in session.exec(query)]


def _read_with(
    session: Session, instrument_id: int, after: int | None, *, since_it_held: bool
) -> tuple[list[tuple[int, int]], int | None]:
    """By set of readings, the newest first, and where to go on when a page's looking is over.

    One that was read again stands on a later page too.
    """
    held = (
        since_it_held
        and session.exec(
            select(func.max(col(InstrumentCheck.at))).where(
                InstrumentCheck.instrument_id == instrument_id, col(InstrumentCheck.is_within)
            )
        ).one()
    )
    steps: dict[int, int] = {}
    for _ in range(MOST_LOOKS):
        query = select(ReadingSet).where(ReadingSet.with_instrument_id == instrument_id)
        if after is not None:
            query = query.where(col(ReadingSet.id) < after)
        if held:
            query = query.where(col(ReadingSet.at) > held - LONGEST_READ_INTO)
        query = query.order_by(col(ReadingSet.id).desc()).limit(SETS_AT_ONCE)
        sets = session.exec(query).all()
        counting = _counting(session, sets, held or None)
        for set_id, pass_id in _passes_of(session, [one for one in sets if one.id in counting]):
            steps.setdefault(pass_id, set_id)
        if len(sets) < SETS_AT_ONCE:
            after = None
            break
        after = sets[-1].id
        if len(steps) > MOST_SHOWN:
            break
    return [(set_id, pass_id) for pass_id, set_id in steps.items()], after


def _counting(session: Session, sets: Sequence[ReadingSet], held: datetime | None) -> set[int]:
    """Sets with a reading that was not struck, taken since the instrument last held."""
    query = (
        select(Reading.reading_set_id)
        .outerjoin(ReadingStrike, col(ReadingStrike.reading_id) == col(Reading.id))
        .where(
            col(Reading.reading_set_id).in_([one.id for one in sets]),
            col(ReadingStrike.id).is_(None),
        )
    )
    if held is not None:
        query = query.where(col(Reading.taken_at) > held)
    return set(session.exec(query))


def _passes_of(session: Session, sets: Sequence[ReadingSet]) -> list[tuple[int, int]]:
    """The passes that these sets were read for: themselves, their position or their ring."""
    found: set[tuple[int, int]] = set()
    for name, table, own, of_pass in (
        ("port_pass_id", PortPass, "id", "id"),
        ("port_id", PortPass, "port_id", "id"),
        ("ring_id", PortPass, "ring_id", "id"),
        # Any ring of a set may go in: which one it was is known when it is pressed.
        ("ring_id", RingIn, "ring_id", "port_pass_id"),
    ):
        by_subject = defaultdict(list)
        for each in sets:
            if getattr(each, name) is not None:
                by_subject[getattr(each, name)].append(each.id)
        column = getattr(table, own)
        rows = session.exec(select(column, getattr(table, of_pass)).where(column.in_(by_subject)))
        for subject, pass_id in rows:
            found |= {(set_id, pass_id) for set_id in by_subject[subject]}
    return sorted(found, reverse=True)
