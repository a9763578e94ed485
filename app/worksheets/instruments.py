"""The instruments of readings, as their checks stood when they were used."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import and_, or_
from sqlmodel import Session, col, func, select

from app.calc.units import Length
from app.models.crib import Instrument, InstrumentCheck
from app.workflow.kinds import InstrumentKind
from app.worksheets.readings import Readings

NOTHING = Length(0)


@dataclass(frozen=True)
class Checked:
    """An instrument with its last check before it was used and the first one after."""

    instrument: Instrument
    before: InstrumentCheck | None = None
    after: InstrumentCheck | None = None

    @property
    def name(self) -> str:
        """As the crib names it."""
        return self.instrument.name

    @property
    def check_error(self) -> Length:
        """What its checks found, the worse of both: the later one speaks for the readings too."""
        found = [check.read - check.master for check in (self.before, self.after) if check]
        return max(found, key=abs, default=NOTHING)

    @property
    def master_name(self) -> str:
        """What it was zeroed on, as names are compared."""
        return self.before.master_name.strip().casefold() if self.before else ""


def load_checked(session: Session, readings: Iterable[Readings]) -> dict[int, Checked]:
    """The instruments of these readings as their checks stand around them, in one statement."""
    used: dict[int, datetime] = {}
    for one in readings:
        found, at = one.set, one.newest_at
        if found is None or found.with_instrument_id is None or at is None:
            continue
        key = found.with_instrument_id
        used[key] = max(at, used.get(key, at))
    return _load(session, used)


def load_bore_gauge(session: Session, at: datetime) -> Checked | None:
    """The gauge that a bore will be gauged with: known while the crib has one only."""
    found = session.exec(
        select(Instrument.id).where(
            Instrument.kind == InstrumentKind.BORE, col(Instrument.retired_at).is_(None)
        )
    ).all()
    if len(found) != 1:
        return None
    return _load(session, {found[0]: at})[found[0]]


def _load(session: Session, used: Mapping[int, datetime]) -> dict[int, Checked]:
    if not used:
        return {}
    of, at = col(InstrumentCheck.instrument_id), col(InstrumentCheck.at)
    number = col(InstrumentCheck.id)
    last = select(func.max(number)).where(
        or_(*(and_(of == key, at <= when) for key, when in used.items()))
    )
    first = select(func.min(number)).where(
        or_(*(and_(of == key, at > when) for key, when in used.items()))
    )
    rows = session.exec(
        select(Instrument, InstrumentCheck)
        .outerjoin(
            InstrumentCheck,
            and_(
                of == col(Instrument.id),
                or_(number.in_(last.group_by(of)), number.in_(first.group_by(of))),
            ),
        )
        .where(col(Instrument.id).in_(list(used)))
    ).all()
    checked: dict[int, Checked] = {}
    for instrument, check in rows:
        found = checked.setdefault(instrument.id, Checked(instrument))
        if check is not None and check.at <= used[instrument.id]:
            checked[instrument.id] = replace(found, before=check)
        elif check is not None:
            checked[instrument.id] = replace(found, after=check)
    return checked
