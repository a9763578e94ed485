"""A setting's page: what to set, what was read, what that will cut at every named position."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, func, select

from app.calc.setting import SetSize
from app.calc.trace import Step
from app.calc.units import Length
from app.models.customer import Customer
from app.models.head import Head, Port
from app.models.job import Job
from app.models.person import Person
from app.models.setting import ClampUp, SettingAdjustment
from app.queries.drift import OvercutLine, overcut_line
from app.workflow.kinds import Said, SettingState, Unit
from app.workflow.settings import PortName, ReCheck, SettingStanding, re_check
from app.worksheets.cutting import clamp_ups_now, port_name, setting_name, standing_now
from app.worksheets.facts import HeadSheet, load_sheets, shop_zone
from app.worksheets.fits import Fit as RingFit
from app.worksheets.fits import fits_of, fits_sources
from app.worksheets.gauges_today import Today, Warmth, bore_today
from app.worksheets.head_rows import PortRows
from app.worksheets.settings import (
    RE_READ,
    NamedPort,
    SettingRows,
    load_setting,
    size_of,
    working_of,
)
from app.worksheets.shop_rules import current_rules


class Fit(Said):
    """What a bore would be to one position's window."""

    INSIDE = "inside"
    ON_PURPOSE = "on_purpose", "under on purpose"
    UNDER = "under", "under size"
    OVER = "over", "too large"


class PositionState(Said):
    """How far a named position is with this setting."""

    TO_CUT = "to_cut", "to cut"
    FIRST_PASS = "first_pass", "first pass cut"
    BORED = "bored"
    ON_HOLD = "on_hold", "on hold"
    RING_IN = "ring_in", "ring in"
    ELSEWHERE = "elsewhere", "another setting's now"


LEFT = (PositionState.TO_CUT, PositionState.FIRST_PASS)


@dataclass(frozen=True)
class SettingPosition:
    """One position that the setting names, judged by the bore to expect."""

    named: NamedPort
    called: PortName
    state: PositionState
    fit: Fit

    @property
    def name(self) -> str:
        """``3E``, ``left 3E``."""
        return self.called.told

    @property
    def port(self) -> Port:
        """Its row."""
        return self.named.port

    @property
    def least(self) -> Length:
        """The smallest bore of its window."""
        return self.named.setting_port.bore_low

    @property
    def most(self) -> Length:
        """The largest bore of its window."""
        return self.named.setting_port.bore_high

    @property
    def is_left(self) -> bool:
        """It is still to be bored with this setting."""
        return self.state in LEFT

    @property
    def may_be_cut(self) -> bool:
        """The bore to expect leaves its window whole, or goes under it on purpose."""
        return self.is_left and self.fit in (Fit.INSIDE, Fit.ON_PURPOSE)


@dataclass(frozen=True, slots=True)
class Read:
    """One reading of the cutter, and who took it."""

    adjustment: SettingAdjustment
    by: str


@dataclass(frozen=True)
class SettingView:
    """The page of one setting."""

    job: Job
    customer: Customer | None
    rows: SettingRows
    size: SetSize | None
    working: tuple[Step, ...]
    sheets: Mapping[int, HeadSheet]
    positions: tuple[SettingPosition, ...]
    bore: Length  # to expect, from the reading in the cutter or from the one to set
    is_read: bool  # that bore comes from what the fixture read
    reads: tuple[Read, ...]
    checked: ReCheck | None
    standing: SettingStanding | None
    clamped: Mapping[int, ClampUp]
    next: SettingPosition | None
    fits: tuple[RingFit, ...]  # of the positions still to be bored, else of all of its own
    today: Today | None  # what the gauge should read of the bore to expect, where it differs
    tip: OvercutLine | None  # how the tip that is in the cutter now cuts these heads

    @property
    def name(self) -> str:
        """``S-88``."""
        return setting_name(self.rows.setting)

    @property
    def left(self) -> tuple[SettingPosition, ...]:
        """Positions still to be bored."""
        return tuple(each for each in self.positions if each.is_left)

    @property
    def read_unit(self) -> Unit:
        """The fixture's own unit."""
        return self.rows.fixture.unit if self.rows.fixture else self.job.unit

    @property
    def is_live(self) -> bool:
        """It may cut now, in these hands."""
        live = self.rows.setting.state is SettingState.LIVE
        return live and not self.rows.made_again_because and self._stands

    @property
    def _stands(self) -> bool:
        return self.standing is None or self.standing.is_live


def show_setting(
    session: Session, setting_id: int, *, person_id: int, at: datetime
) -> SettingView | None:
    """Gather the page for one person at one moment."""
    rows = load_setting(session, setting_id)
    if rows is None:
        return None
    job = session.get_one(Job, rows.setting.job_id)
    heads = {named.head.id: named.head for named in rows.ports}
    of_job = session.exec(select(func.count(col(Head.id))).where(Head.job_id == job.id)).one()
    sheets = load_sheets(session, list(heads.values()))
    size = size_of(rows.setting, job.unit.value)
    is_read = rows.is_read_as_it_stands
    bore = rows.expected_bore if is_read else None
    if bore is None:
        bore = size.expected_bore if size else rows.setting.set_size + rows.setting.overcut
    positions = tuple(
        sorted(
            (_position(rows, sheets[named.head.id], named, bore, of_job) for named in rows.ports),
            key=lambda each: not each.is_left,
        )
    )
    clamped = clamp_ups_now(session, list(heads))
    following = _next(positions, clamped)
    here = following or next((each for each in positions if each.is_left), None)
    clamp_up = clamped.get(here.named.head.id) if here else None
    return SettingView(
        job=job,
        customer=session.get(Customer, job.customer_id) if job.customer_id else None,
        rows=rows,
        size=size,
        working=working_of(
            rows.setting, rows.fixture.unit.value if rows.fixture else job.unit.value
        ),
        sheets=sheets,
        positions=positions,
        bore=bore,
        is_read=is_read,
        reads=_reads(session, rows),
        checked=_checked(rows),
        standing=standing_now(
            session,
            rows,
            person_id=person_id,
            clamp_up_id=clamp_up.id if clamp_up else None,
            at=at,
            zone=shop_zone(session),
        ),
        clamped=clamped,
        next=following,
        fits=_fits(session, sheets, positions),
        today=_today(session, job, positions, bore),
        tip=overcut_line(session, rows.cutter.id, positions[0].named.head.material, job.unit.value),
    )


def _today(
    session: Session, job: Job, positions: tuple[SettingPosition, ...], bore: Length
) -> Today | None:
    """Of the heads of one setting one stands for all: one cutter cuts one material."""
    day = current_rules(session).number("temperature_c")
    head = positions[0].named.head
    return bore_today(session, head, bore, Warmth(day, day), job.unit.value)


def _fits(
    session: Session, sheets: Mapping[int, HeadSheet], positions: tuple[SettingPosition, ...]
) -> tuple[RingFit, ...]:
    own = [each for each in positions if each.state is not PositionState.ELSEWHERE]
    shown = [each for each in own if each.is_left] or own
    found = (sheets[each.named.head.id].targets.get(each.port.id) for each in shown)
    sources = fits_sources(session, current_rules(session))
    return fits_of(sources, sheets, [target for target in found if target is not None])


def state_of(rows: SettingRows, sheet: HeadSheet, port: PortRows) -> PositionState:
    """How far a position is with a setting that names it."""
    if port.setting is None or port.setting.id != rows.setting.id:
        return PositionState.ELSEWHERE
    if port.ring_in is not None:
        return PositionState.RING_IN
    if port.hold is not None:
        return PositionState.ON_HOLD
    if sheet.facts.port(port.label).cut.is_closed_by_value:
        return PositionState.BORED
    return PositionState.TO_CUT if port.cut is None else PositionState.FIRST_PASS


def _position(
    rows: SettingRows, sheet: HeadSheet, named: NamedPort, bore: Length, heads: int
) -> SettingPosition:
    port = sheet.rows.port(named.port.id)
    same_pass = port.port_pass is not None and port.port_pass.id == named.port_pass.id
    return SettingPosition(
        named=named,
        called=port_name(named.head, named.label, heads),
        state=state_of(rows, sheet, port) if same_pass else PositionState.ELSEWHERE,
        fit=_fit(rows, named, bore),
    )


def _fit(rows: SettingRows, named: NamedPort, bore: Length) -> Fit:
    if named.suits(bore):
        return Fit.INSIDE
    if not named.is_under(bore):
        return Fit.OVER
    return Fit.ON_PURPOSE if rows.is_first_pass else Fit.UNDER


def _next(
    positions: tuple[SettingPosition, ...], clamped: Mapping[int, ClampUp]
) -> SettingPosition | None:
    """The first position still to be bored; of the head that stands on the machine before others.

    One whose first pass is cut comes first: its bore says what to correct.
    """
    left = [each for each in positions if each.may_be_cut]
    left.sort(
        key=lambda each: (
            each.named.head.id not in clamped,
            each.state is not PositionState.FIRST_PASS,
        )
    )
    return left[0] if left else None


def _reads(session: Session, rows: SettingRows) -> tuple[Read, ...]:
    ids = {adjustment.by_id for adjustment in rows.adjustments}
    if not ids:
        return ()
    names = dict(
        session.exec(select(Person.id, Person.name).where(col(Person.id).in_(list(ids)))).all()
    )
    return tuple(
        Read(adjustment, names[adjustment.by_id]) for adjustment in reversed(rows.adjustments)
    )


def _checked(rows: SettingRows) -> ReCheck | None:
    """What the last reading said of a cutter that was left as it is."""
    if len(rows.adjustments) < 2 or rows.setting.division is None or rows.fixture is None:
        return None
    before, last = rows.adjustments[-2:]
    if last.why != RE_READ:
        return None
    return re_check(before.achieved, last.achieved, rows.setting.division, rows.fixture.unit)
