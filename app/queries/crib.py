"""What stands in the crib, and how each cutter and instrument stands."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from sqlalchemy import text
from sqlmodel import Session, col, func, select

from app.calc.overcut import Overcut
from app.calc.units import Length
from app.models.crib import (
    Cutter,
    Fixture,
    Instrument,
    InstrumentCheck,
    Machine,
    Pilot,
    TipChange,
)
from app.models.head import Head, Port
from app.models.job import Job
from app.models.port_pass import PortPass
from app.models.setting import Setting, SettingAdjustment, SettingPort
from app.workflow.instruments import CheckState, check_state, due_on
from app.workflow.kinds import SettingState
from app.workflow.overcut_advice import look_here
from app.workflow.words import Material
from app.worksheets.overcut import good_cuts_of, overcut_by_material, signs_by_material
from app.worksheets.shop_rules import current_rules

T = TypeVar("T", Machine, Cutter, Pilot, Fixture, Instrument)


@dataclass(frozen=True, slots=True)
class SetAt:
    """What a cutter is set at now, for which job and positions."""

    setting_id: int
    number: str
    wanted: Length  # worked out
    set_size: Length  # as the fixture last read it; as wanted where nothing was read
    state: SettingState
    positions: tuple[str, ...]
    since: datetime | None


@dataclass(frozen=True, slots=True)
class CutterLine:
    """A cutter in the list."""

    cutter: Cutter
    tip: TipChange | None
    set_at: SetAt | None
    overcut: dict[Material, Overcut]  # of that tip
    look_here: dict[Material, str]  # where its cuts show more than scatter, in a few words


@dataclass(frozen=True, slots=True)
class InstrumentLine:
    """An instrument with its last check."""

    instrument: Instrument
    check: InstrumentCheck | None
    state: CheckState
    due_on: date | None

    @property
    def wants_a_look(self) -> bool:
        """Its check failed, is due, or was never made although one is asked for."""
        asked = self.instrument.check_every_days is not None
        return self.state in (CheckState.FAILED, CheckState.DUE) or (
            asked and self.state is CheckState.NEVER
        )


@dataclass(frozen=True, slots=True)
class Retired:
    """A tool that is out of use, under its noun."""

    noun: str
    id: int
    name: str


@dataclass(frozen=True, slots=True)
class Crib:
    """Everything in use, and how much is retired."""

    machines: list[Machine]
    cutters: list[CutterLine]
    pilots: list[Pilot]
    fixtures: list[Fixture]
    instruments: list[InstrumentLine]
    retired: list[Retired]


def crib(session: Session, zone: ZoneInfo, today: date) -> Crib:
    """The whole crib; the number of statements does not grow with what stands in it."""
    return Crib(
        machines=in_use(session, Machine),
        cutters=cutter_lines(session, in_use(session, Cutter)),
        pilots=in_use(session, Pilot),
        fixtures=in_use(session, Fixture),
        instruments=instrument_lines(session, in_use(session, Instrument), zone, today),
        retired=[
            *_retired(session, Machine),
            *_retired(session, Cutter),
            *_retired(session, Pilot),
            *_retired(session, Fixture),
            *_retired(session, Instrument),
        ],
    )


def in_use(session: Session, table: type[T]) -> list[T]:
    """What is not retired, by name."""
    return list(
        session.exec(select(table).where(col(table.retired_at).is_(None)).order_by(col(table.name)))
    )


def _retired(session: Session, table: type[T]) -> list[Retired]:
    found = select(table).where(col(table.retired_at).is_not(None)).order_by(col(table.name))
    return [Retired(str(table.__tablename__), tool.id, tool.name) for tool in session.exec(found)]


def cutter_lines(session: Session, cutters: Sequence[Cutter]) -> list[CutterLine]:
    """Cutters with their present tip and what they are set at."""
    ids = [cutter.id for cutter in cutters]
    newest = (
        select(func.max(col(TipChange.id)))
        .where(col(TipChange.cutter_id).in_(ids))
        .group_by(col(TipChange.cutter_id))
    )
    tips = {
        tip.cutter_id: tip
        for tip in session.exec(select(TipChange).where(col(TipChange.id).in_(newest)))
    }
    set_at = _set_at(session, ids)
    cuts = good_cuts_of(session, {key: tips[key].id if key in tips else None for key in ids})
    rules = current_rules(session)
    return [
        CutterLine(
            cutter,
            tips.get(cutter.id),
            set_at.get(cutter.id),
            overcut_by_material(cuts[cutter.id]),
            {
                material: look_here(signs)
                for material, signs in signs_by_material(cuts[cutter.id], rules).items()
                if look_here(signs)
            },
        )
        for cutter in cutters
    ]


def instrument_lines(
    session: Session, instruments: Sequence[Instrument], zone: ZoneInfo, today: date
) -> list[InstrumentLine]:
    """Instruments with their last check; those that want a look first."""
    newest = (
        select(func.max(col(InstrumentCheck.id)))
        .where(col(InstrumentCheck.instrument_id).in_([one.id for one in instruments]))
        .group_by(col(InstrumentCheck.instrument_id))
    )
    checks = {
        check.instrument_id: check
        for check in session.exec(
            select(InstrumentCheck).where(col(InstrumentCheck.id).in_(newest))
        )
    }
    lines = [instrument_line(one, checks.get(one.id), zone, today) for one in instruments]
    return sorted(lines, key=lambda line: (not line.wants_a_look, line.instrument.name))


def instrument_line(
    instrument: Instrument, check: InstrumentCheck | None, zone: ZoneInfo, today: date
) -> InstrumentLine:
    """How one instrument stands today."""
    last_on = check.at.astimezone(zone).date() if check else None
    every = instrument.check_every_days
    return InstrumentLine(
        instrument=instrument,
        check=check,
        state=check_state(last_on, check.is_within if check else False, every, today),
        due_on=due_on(last_on, every),
    )


def _newest_settings(session: Session, cutter_ids: list[int]) -> list[int]:
    """The live setting of each cutter, or else the one that lapsed last.

    Settings stay for ever: each cutter's are walked from the newest end.
    """
    # Written out, so that the index of live settings is seen to hold it.
    live = dict(
        session.exec(
            select(Setting.cutter_id, Setting.id).where(
                col(Setting.cutter_id).in_(cutter_ids), text("setting.state = 'live'")
            )
        ).all()
    )
    lapsed: Any = (
        select(func.max(col(Setting.id)))
        .where(Setting.cutter_id == col(Cutter.id), Setting.state == SettingState.LAPSED)
        .correlate(Cutter)
        .scalar_subquery()
    )
    rest = [cutter_id for cutter_id in cutter_ids if cutter_id not in live]
    found = session.exec(select(lapsed).where(col(Cutter.id).in_(rest))).all()
    return [*live.values(), *(setting_id for setting_id in found if setting_id)]


def _set_at(session: Session, cutter_ids: list[int]) -> dict[int, SetAt]:
    found = session.exec(
        select(Setting, Job.number)
        .join(Job, col(Job.id) == col(Setting.job_id))
        .where(col(Setting.id).in_(_newest_settings(session, cutter_ids)))
    ).all()
    names: dict[int, list[str]] = defaultdict(list)
    for setting_id, head, label in session.exec(
        select(SettingPort.setting_id, Head.name, Port.label)
        .join(PortPass, col(PortPass.id) == col(SettingPort.port_pass_id))
        .join(Port, col(Port.id) == col(PortPass.port_id))
        .join(Head, col(Head.id) == col(Port.head_id))
        .where(col(SettingPort.setting_id).in_([setting.id for setting, _ in found]))
        .order_by(col(SettingPort.id))
    ):
        names[setting_id].append(f"{head} {label}".strip())
    ids = [setting.id for setting, _ in found]
    newest = (
        select(func.max(col(SettingAdjustment.id)))
        .where(col(SettingAdjustment.setting_id).in_(ids))
        .group_by(col(SettingAdjustment.setting_id))
    )
    read = {
        one.setting_id: one.set_size
        for one in session.exec(
            select(SettingAdjustment).where(col(SettingAdjustment.id).in_(newest))
        )
    }
    return {
        setting.cutter_id: SetAt(
            setting.id,
            number,
            setting.set_size,
            read.get(setting.id, setting.set_size),
            setting.state,
            tuple(names[setting.id]),
            setting.live_since,
        )
        for setting, number in found
    }
