"""A position under the cutter: its clamp-up, setting, depth stop, and whether it may be cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy.orm import aliased
from sqlmodel import Session, col, or_, select

from app.calc.depth import Datum as CalcDatum
from app.calc.depth import DepthStop, counterbore_depth, depth_stop
from app.calc.errors import CalculationError
from app.calc.units import Length
from app.models.event import Event
from app.models.head import Head, Port
from app.models.inspection import DeckCut
from app.models.port_pass import CutOpening, PortPass
from app.models.setting import ClampUp, ClampUpTurn, Setting
from app.workflow.kinds import Quantity, ResultKind, SettingState
from app.workflow.settings import (
    Confirm,
    CutTouch,
    PortName,
    Refusal,
    SettingFacts,
    SettingStanding,
    SettingUse,
    must_confirm,
    refuse_cut,
    refuse_replaced,
    standing_of,
)
from app.workflow.shop_rules import ShopRules
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows
from app.worksheets.settings import SettingRows, load_setting, load_settings


@dataclass(frozen=True)
class ClampedUp:
    """The newest clamp-up of a head, and how its map is turned."""

    clamp_up: ClampUp
    turned: int


@dataclass(frozen=True)
class Stop:
    """The depth stop of a position for a clamp-up; `refused` says why there is none."""

    depth: Length | None
    stop: DepthStop | None
    refused: str = ""


def clamped_up(session: Session, head_id: int) -> ClampedUp | None:
    """How a head stands on a machine; None when another head was clamped up there since.

    None too when it was touched off on its deck, and the deck was cut since.
    """
    newest = session.exec(
        select(ClampUp).where(ClampUp.head_id == head_id).order_by(col(ClampUp.id).desc()).limit(1)
    ).first()
    if newest is None:
        return None
    later = session.exec(
        select(ClampUp.id).where(
            ClampUp.machine_id == newest.machine_id, col(ClampUp.id) > newest.id
        )
    ).first()
    if later is not None or _deck_is_another(session, newest):
        return None
    turn = session.exec(
        select(ClampUpTurn.turned)
        .where(ClampUpTurn.clamp_up_id == newest.id)
        .order_by(col(ClampUpTurn.id).desc())
        .limit(1)
    ).first()
    return ClampedUp(newest, turn or 0)


def _deck_is_another(session: Session, clamp_up: ClampUp) -> bool:
    """Touched off on a deck that was cut since: its figures are of a surface that is gone."""
    if clamp_up.datum != CalcDatum.DECK.value:
        return False
    return (
        session.exec(
            select(DeckCut.id).where(
                DeckCut.head_id == clamp_up.head_id, col(DeckCut.at) > clamp_up.at
            )
        ).first()
        is not None
    )


def clamp_ups_now(session: Session, head_ids: Sequence[int]) -> dict[int, ClampUp]:
    """Which of these heads stand on a machine now, by head id; one statement."""
    own, later = aliased(ClampUp), aliased(ClampUp)
    anew = select(later.id).where(
        col(later.id) > col(own.id),
        or_(
            col(later.machine_id) == col(own.machine_id),
            col(later.head_id) == col(own.head_id),
        ),
    )
    rows = session.exec(
        select(own).where(col(own.head_id).in_(list(head_ids)), ~anew.exists())
    ).all()
    return {clamp_up.head_id: clamp_up for clamp_up in rows}


def stop_for(rows: PortRows, clamp_up: ClampUp, rules: ShopRules, unit: str) -> Stop:
    """The depth stop: touch-off ± depth, with the travel that has to be left."""
    port_pass = rows.port_pass
    if port_pass is None:
        return Stop(None, None, "its depth is not worked out yet")
    datum = CalcDatum(clamp_up.datum)
    floor = rows.pockets.one(Quantity.OLD_DEPTH) if rows.pockets else None
    try:
        depth = counterbore_depth(
            ring_height_nm=port_pass.depth.nm,
            protrusion=Length(0),
            deck_stock=clamp_up.deck_stock or Length(0),
            datum=datum,
            unit=unit,
        )
        stop = depth_stop(
            depth=depth.depth,
            datum=datum,
            old_floor=floor,
            touch_off=clamp_up.touch_off,
            scale_rises=clamp_up.scale_rises,
            travel_left=clamp_up.travel or Length(0),
            allowance=rules.length("travel_allowance"),
            unit=unit,
        )
    except CalculationError as no:
        return Stop(None, None, str(no))
    if not stop.reaches:
        return Stop(
            depth.depth,
            stop,
            f"the quill runs out of travel: {stop.travel_left.shown(unit)} left, "
            f"{stop.travel.shown(unit)} and {rules.length('travel_allowance').shown(unit)} to "
            "spare are needed. Clamp the head up again, higher or lower",
        )
    return Stop(depth.depth, stop)


def is_open(rows: PortRows) -> bool:
    """It was opened to be cut, and nothing is recorded since."""
    opening, cut = rows.opening, rows.cut
    if opening is None or opening.was_not_cut:
        return False
    return cut is None or cut.at < opening.at


def setting_facts(rows: SettingRows, heads: int) -> SettingFacts:
    """A setting as the cut rules know it."""
    return SettingFacts(
        name=setting_name(rows.setting),
        state=rows.setting.state,
        ports=tuple(
            port_name(named.head, named.label, heads)
            for named in rows.ports
            # A position that another setting took over is no longer this one's.
            if named.port_pass.closed_at is None
        ),
        bore=rows.expected_bore or rows.setting.target_bore,
        cutter=rows.cutter.name,
        lapsed_because=rows.setting.lapsed_because,
        outside=tuple(
            port_name(named.head, named.label, heads)
            for named in rows.ports
            if rows.adjustment is not None and not rows.may_cut(named)
        ),
    )


def setting_name(setting: Setting) -> str:
    """``S-88``."""
    return f"S-{setting.id}"


def port_name(head: Head, label: str, heads: int) -> PortName:
    """A position's name; with the head's where the job has several."""
    if heads < 2:
        return PortName(label)
    return PortName(label, head.name or f"head {head.nth}")


def heads_of(session: Session, job_id: int) -> int:
    """How many heads a job has: with several a position is named with its head."""
    return len(session.exec(select(Head.id).where(Head.job_id == job_id)).all())


def refusal_for(
    session: Session,
    sheet: HeadSheet,
    rows: PortRows,
    setting: SettingRows,
    *,
    heads: int,
    turned: int,
) -> Refusal | None:
    """Why this position cannot be recorded as cut with this setting."""
    name = port_name(sheet.head, rows.label, heads)
    own = setting_facts(setting, heads)
    new = replacement(session, rows, setting)
    if new is not None:
        unit = sheet.rows.job.job.unit
        return refuse_replaced(own, setting_facts(new, heads), name, unit)
    if rows.setting is not None and rows.setting.id != setting.setting.id:
        own = _without(own, name)
    others = [
        setting_facts(other, heads)
        for other in settings_of_job(session, setting.setting.job_id).values()
        if other.setting.id != setting.setting.id
        and not (
            rows.setting is not None
            and other.named(rows.port.id)
            and other.setting.id != rows.setting.id
        )
    ]
    return refuse_cut(
        own,
        tuple(others),
        sheet.facts,
        name,
        sheet.rows.job.job.unit,
        turned=turned,
    )


def replacement(session: Session, rows: PortRows, setting: SettingRows) -> SettingRows | None:
    """The setting that took the place of this one at a position that both name."""
    now = rows.setting
    if now is None or now.id == setting.setting.id or setting.named(rows.port.id) is None:
        return None
    return load_setting(session, now.id)


def _without(facts: SettingFacts, name: PortName) -> SettingFacts:
    return SettingFacts(
        name=facts.name,
        state=facts.state,
        ports=tuple(port for port in facts.ports if port != name),
        bore=facts.bore,
        cutter=facts.cutter,
        lapsed_because=facts.lapsed_because,
        outside=facts.outside,
    )


def settings_of_job(session: Session, job_id: int) -> dict[int, SettingRows]:
    """The settings of a job that are not over."""
    found = session.exec(
        select(Setting)
        .where(Setting.job_id == job_id, col(Setting.state) != SettingState.ENDED)
        .order_by(col(Setting.id))
    ).all()
    return load_settings(session, found)


def standing_now(
    session: Session,
    setting: SettingRows,
    *,
    person_id: int,
    clamp_up_id: int | None,
    at: datetime,
    zone: ZoneInfo,
) -> SettingStanding | None:
    """Whether a live setting still is, for this person, day and clamp-up; None while it never was.

    A setting read back before the head was clamped up does not lapse by the first clamp-up.
    """
    adjustment = setting.adjustment
    if adjustment is None:
        return None
    used = setting.newest_opening
    read_for = used.clamp_up_id if used is not None and used.at > adjustment.at else None
    now = SettingUse(at.astimezone(zone).date(), person_id, clamp_up_id)
    last_read = SettingUse(adjustment.at.astimezone(zone).date(), adjustment.by_id, read_for)
    return standing_of(
        # A cutter of fixed size has nothing to read back: only its tip can change it.
        now if setting.setting.mode is None else last_read,
        now,
        cutter_set_elsewhere=setting.setting.state is SettingState.LAPSED,
        tip_changed=setting.newest_tip_id != setting.setting.tip_change_id,
    )


def confirm_needed(
    session: Session,
    *,
    clamp_up: ClampUp,
    setting_id: int,
    person_id: int,
    row: int,
    at: datetime,
    after_minutes: int,
) -> Confirm | None:
    """Why the position has to be touched on the head map, or None when it is carried along."""
    found = session.exec(
        select(CutOpening, PortPass)
        .join(PortPass, col(PortPass.id) == col(CutOpening.port_pass_id))
        .where(CutOpening.clamp_up_id == clamp_up.id)
        .order_by(col(CutOpening.id).desc())
        .limit(1)
    ).first()
    last = None
    if found is not None:
        opening, port_pass = found
        last = CutTouch(
            clamp_up_id=opening.clamp_up_id,
            setting_id=opening.setting_id,
            person_id=opening.by_id,
            row=_row_of(session, port_pass.port_id),
            at=_last_touch(session, opening),
        )
    now = CutTouch(clamp_up.id, setting_id, person_id, row, at)
    return must_confirm(last, now, after_minutes)


@dataclass(frozen=True, slots=True)
class StaleResult:
    """An accepted result without ground: why, what to redo, and what is still good."""

    kind: ResultKind
    because: str
    redo: str
    still_good: str

    @property
    def told(self) -> str:
        """The whole in words."""
        parts = [f"{self.kind.screen.capitalize()} no longer stands: {self.because}."]
        if self.redo:
            parts.append(self.redo)
        if self.still_good:
            parts.append(f"Still good: {self.still_good}.")
        return " ".join(parts)


def stale_of(rows: PortRows, sheet: HeadSheet) -> Sequence[StaleResult]:
    """What no longer stands at a position, of what the next step needs."""
    told = []
    for kind in sheet.facts.port(rows.label).no_longer_stands:
        accepted = sheet.rows.accepted.of_pass(rows.port_pass.id if rows.port_pass else None, kind)
        if accepted is None:
            accepted = sheet.rows.accepted.of_port(rows.port.id, kind)
        if accepted is not None and accepted.no_longer is not None:
            gone = accepted.no_longer
            told.append(StaleResult(kind, gone.because, gone.redo, gone.still_good))
    return told


def _row_of(session: Session, port_id: int) -> int:
    return session.get_one(Port, port_id).row


def _last_touch(session: Session, opening: CutOpening) -> datetime:
    """The newest thing that person recorded since: gauging a bore is a touch too."""
    newest = session.exec(
        select(col(Event.at))
        .where(Event.by_id == opening.by_id, col(Event.at) >= opening.at)
        .order_by(col(Event.id).desc())
        .limit(1)
    ).first()
    return newest or opening.at
