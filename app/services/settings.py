"""Settings: made for named positions, set and read back, corrected, lapsed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sqlmodel import col, select

from app.calc.errors import CalculationError
from app.calc.overcut import correction
from app.calc.units import Length
from app.forms.settings import AchievedForm, SettingForm
from app.models.crib import Cutter, Fixture, Pilot
from app.models.job import Job
from app.models.setting import Setting, SettingAdjustment, SettingPort
from app.queries.shop_rules import current_rules
from app.services.passes import accept_target, sheets_of_job, window_of
from app.services.results import accept
from app.services.stages import refresh_stages
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.kinds import CutterKind, ResultKind, SettingState
from app.workflow.shop_rules import ShopRules
from app.workflow.words import FixtureMode, listed
from app.worksheets.facts import HeadSheet
from app.worksheets.overcut import newest_tip
from app.worksheets.plans import plan_of
from app.worksheets.settings import (
    SettingRows,
    SettingWorking,
    bore_to_expect,
    load_setting,
    size_for,
    work_setting,
)
from app.worksheets.targets import PortTarget

SET = "set"
CORRECTED = "corrected"
RE_READ = "read again"


@dataclass(frozen=True)
class _Tools:
    cutter: Cutter
    fixture: Fixture | None
    pilot: Pilot | None


@use_case
def make_setting(tx: Write, job: Job, form: SettingForm) -> Setting:
    """Work out one setting for named positions and accept their targets; the cutter is not set yet.

    Refused when a position is not ready, when no one bore suits them all, when their heads are of
    different material, or when a fixed cutter's bore leaves a window.
    """
    rules, unit = current_rules(tx.session), job.unit.value
    sheets = sheets_of_job(tx, job.id)
    targets = _targets(sheets, form.port_ids)
    tools = _tools(tx, form)
    materials = {target.head.material for target in targets}
    material = next(iter(materials))
    if len(materials) != 1 or material is None:
        raise Refused(
            "These heads are of different material, or it is not known: one cutter cuts one "
            "material at a time. Make a setting for each; nothing was changed."
        )
    bore = _one_bore(targets, rules, unit)
    try:
        working = work_setting(
            tx.session,
            target_bore=bore,
            cutter=tools.cutter,
            fixture=tools.fixture,
            pilot=tools.pilot,
            material=material,
            rules=rules,
            unit=unit,
        )
    except CalculationError as no:
        raise Refused(str(no), no.field if no.field in ("pilot", "fixture") else "") from no
    if tools.cutter.fixed_size is not None:
        _refuse_fixed_outside(targets, working, tools.cutter, unit)
    setting = tx.add(_row(tx, job, tools, bore, working))
    for target in targets:
        port_pass = accept_target(tx, target)
        _end_empty_settings(tx, port_pass.id)
        low, high = window_of(target)
        tx.session.add(
            SettingPort(
                setting_id=setting.id, port_pass_id=port_pass.id, bore_low=low, bore_high=high
            )
        )
    _accept_size(tx, setting, working, targets)
    if tools.cutter.fixed_size is not None:
        _take_over_cutter(tx, setting)
        tx.add(_adjustment(tx, setting, tools.cutter.fixed_size, "fixed size", SET))
        _make_live(tx, setting)
    for sheet in sheets.values():
        refresh_stages(tx, sheet.head)
    tx.log(
        "made a setting",
        setting,
        job=job,
        ports=form.port_ids,
        target=bore,
        set_size=setting.set_size,
        reading=setting.reading,
        cutter=setting.cutter_id,
    )
    return setting


@use_case
def record_achieved(tx: Write, setting_id: int, form: AchievedForm) -> Setting:
    """What the fixture reads after locking, judged by the bore that it will give.

    It is kept whatever it is; the setting is live only for positions whose window it leaves
    whole (or under size, on a first pass). Setting a cutter ends what it was set at before.
    """
    rows = get_setting(tx, setting_id)
    setting = rows.setting
    if setting.mode is None or form.achieved is None:
        raise Refused("This cutter is of a fixed size: there is nothing to read back.")
    if setting.state is SettingState.ENDED:
        raise Refused("This setting is over. Make a new one for the positions that are left.")
    if newest_tip_id(tx, setting.cutter_id) != setting.tip_change_id:
        raise Refused(
            "The tip of this cutter was changed since this setting was worked out: its overcut no "
            "longer holds. Make the setting again; nothing was changed."
        )
    why = RE_READ if setting.state is SettingState.LAPSED else SET
    if setting.state is SettingState.LIVE and rows.adjustments:
        why = RE_READ
    adjustment = tx.add(_adjustment(tx, setting, form.achieved, form.typed, why))
    _take_over_cutter(tx, setting)
    now = get_setting(tx, setting_id)
    if any(now.may_cut(named) for named in now.ports):
        _make_live(tx, setting)
    else:
        setting.state = SettingState.READY
        tx.session.add(setting)
    _refresh(tx, now)
    tx.log(
        "read the cutter back",
        setting,
        job=setting.job_id,
        achieved=form.achieved,
        expected_bore=adjustment.expected_bore,
        why=why,
    )
    return setting


@use_case
def correct_setting(tx: Write, setting_id: int, measured: Length, earlier_cuts: int) -> Setting:
    """Work out the reading again after a bore came out away from where it was expected.

    The overcut takes 1/(n₀+1) of the error; a first pass is over with it: the reading now aims
    at the bore wanted. The fixture is to be set and read back again.
    """
    rows = get_setting(tx, setting_id)
    setting, rules = rows.setting, current_rules(tx.session)
    if setting.mode is None or setting.division is None or rows.expected_bore is None:
        raise Refused("A cutter of fixed size cannot be corrected. Choose another cutter.")
    job = tx.session.get_one(Job, setting.job_id)
    error = measured - rows.expected_bore
    worked = correction(
        error=error,
        earlier_cuts=earlier_cuts,
        dead_band=rules.length("correction_dead_band"),
        unit=job.unit.value,
    )
    setting.overcut = setting.overcut - worked.correction
    setting.overcut_source = (
        f"corrected by {worked.correction.shown(job.unit.value, 5, 4)} after a bore came out "
        f"{error.shown(job.unit.value, 5, 4)} from what was expected"
    )[:200]
    setting.under_by = Length(0)
    size = size_for(
        setting.target_bore,
        setting.overcut,
        setting.mode,
        setting.division,
        rows.pilot,
        job.unit.value,
    )
    setting.set_size = size.set_size
    setting.reading = size.reading
    setting.state = SettingState.READY
    tx.session.add(setting)
    tx.session.flush()
    accept(tx, ResultKind.SETTING, size, setting_id=setting.id)
    _refresh(tx, rows)
    tx.log(
        "corrected a setting",
        setting,
        job=setting.job_id,
        error=error,
        earlier_cuts=earlier_cuts,
        reading=setting.reading,
    )
    return setting


@use_case
def end_setting(tx: Write, setting_id: int, because: str) -> Setting:
    """A setting is over; the cutter is free for another."""
    rows = get_setting(tx, setting_id)
    rows.setting.state = SettingState.ENDED
    rows.setting.lapsed_because = because[:300]
    tx.session.add(rows.setting)
    _refresh(tx, rows)
    tx.log("ended a setting", rows.setting, job=rows.setting.job_id, because=because)
    return rows.setting


def lapse_settings_of_cutter(tx: Write, cutter_id: int, because: str) -> None:
    """A tip was changed or ground: what this cutter was set at has to be worked out again."""
    for setting in tx.session.exec(
        select(Setting).where(
            Setting.cutter_id == cutter_id,
            col(Setting.state).in_([SettingState.LIVE, SettingState.LAPSED, SettingState.READY]),
        )
    ):
        lapse(tx, setting, because)


def lapse(tx: Write, setting: Setting, because: str) -> None:
    """The cutter has to be read again before this setting may cut."""
    setting.state = SettingState.LAPSED
    setting.lapsed_because = because[:300]
    tx.session.add(setting)
    tx.session.flush()


def get_setting(tx: Write, setting_id: int) -> SettingRows:
    """The setting with its positions, or a plain refusal."""
    found = load_setting(tx.session, setting_id)
    if found is None:
        raise NotFound("There is no such setting.")
    return found


def newest_tip_id(tx: Write, cutter_id: int) -> int | None:
    """The tip that is in the cutter now."""
    tip = newest_tip(tx.session, cutter_id)
    return tip.id if tip else None


def _targets(sheets: Mapping[int, HeadSheet], port_ids: Iterable[int]) -> list[PortTarget]:
    every = {
        port_id: target for sheet in sheets.values() for port_id, target in sheet.targets.items()
    }
    found = []
    for port_id in dict.fromkeys(port_ids):
        if port_id not in every:
            raise NotFound("One of these positions gets no seat ring in this job.")
        target = every[port_id]
        if target.rows.hold is not None:
            raise Refused(f"{target.name} is on hold: {target.rows.hold.words}")
        if target.rows.ring_in is not None:
            raise Refused(f"{target.name} has its ring in already.")
        if not target.is_ready:
            raise Refused(f"{target.name} is not ready: {'; '.join(target.open)}.")
        found.append(target)
    return found


def _tools(tx: Write, form: SettingForm) -> _Tools:
    cutter = tx.session.get(Cutter, form.cutter_id) if form.cutter_id else None
    fixture = tx.session.get(Fixture, form.fixture_id) if form.fixture_id else None
    pilot = tx.session.get(Pilot, form.pilot_id) if form.pilot_id else None
    if cutter is None or cutter.retired_at is not None:
        raise Refused("Choose a cutter from the crib.", "cutter")
    if cutter.kind is CutterKind.ADJUSTABLE:
        if fixture is None or fixture.retired_at is not None:
            raise Refused("Choose the fixture that this cutter is set on.", "fixture")
        if fixture.mode is FixtureMode.ACROSS_PILOT and pilot is None:
            raise Refused("This fixture reads across the pilot: choose the pilot.", "pilot")
    return _Tools(cutter, fixture if cutter.kind is CutterKind.ADJUSTABLE else None, pilot)


def _one_bore(targets: list[PortTarget], rules: ShopRules, unit: str) -> Length:
    plan = plan_of(targets, rules, unit)
    if plan.impossible:
        raise Refused(
            f"{listed(plan.impossible)}: the rings differ by more than the window less the "
            "possible error allows. Choose a ring for each position; nothing was changed."
        )
    if len(plan.settings) != 1:
        groups = "; ".join(listed(one.ports) for one in plan.settings)
        raise Refused(
            f"No one bore suits all of these. They need {len(plan.settings)} settings: {groups}. "
            "Nothing was changed."
        )
    return plan.settings[0].bore


def _refuse_fixed_outside(
    targets: list[PortTarget], working: SettingWorking, cutter: Cutter, unit: str
) -> None:
    outside = [
        target.name
        for target in targets
        if not window_of(target)[0] <= working.expected_bore <= window_of(target)[1]
    ]
    if outside:
        raise Refused(
            f"{cutter.name} is expected to bore {working.expected_bore.shown(unit, 5, 4)} {unit}: "
            f"outside the window of {listed(outside)}. Choose another cutter.",
            "cutter",
        )


def _row(tx: Write, job: Job, tools: _Tools, bore: Length, working: SettingWorking) -> Setting:
    fixture = tools.fixture
    across = tools.pilot.shank_diameter if tools.pilot else None
    return Setting(
        job_id=job.id,
        cutter_id=tools.cutter.id,
        tip_change_id=newest_tip_id(tx, tools.cutter.id),
        fixture_id=fixture.id if fixture else None,
        pilot_id=tools.pilot.id if tools.pilot else None,
        mode=fixture.mode if fixture else None,
        division=fixture.division if fixture else None,
        across=across,
        target_bore=bore,
        overcut=working.overcut.overcut,
        overcut_source=working.overcut.working[0].text,
        under_by=working.first.under,
        set_size=working.set_size,
        reading=working.size.reading if working.size else None,
        state=SettingState.READY,
    )


def _accept_size(
    tx: Write, setting: Setting, working: SettingWorking, targets: list[PortTarget]
) -> None:
    readings = [reading for target in targets for reading in target.reading_ids]
    if working.size is not None:
        accept(tx, ResultKind.SETTING, working.size, readings=readings, setting_id=setting.id)
        return
    record = {
        "set_size": working.set_size,
        "overcut": working.overcut,
        "expected_bore": working.expected_bore,
    }
    accept(tx, ResultKind.SETTING, record, readings=readings, setting_id=setting.id)


def _adjustment(
    tx: Write, setting: Setting, achieved: Length, typed: str, why: str
) -> SettingAdjustment:
    bore = bore_to_expect(setting, achieved)
    return SettingAdjustment(
        setting_id=setting.id,
        why=why,
        achieved=achieved,
        typed=typed[:40],
        set_size=bore - setting.overcut,
        expected_bore=bore,
        by_id=tx.by_id,
        at=tx.at,
    )


def _take_over_cutter(tx: Write, setting: Setting) -> None:
    """One size at a time: whatever else this cutter was set at is no longer in it."""
    for other in tx.session.exec(
        select(Setting).where(
            Setting.cutter_id == setting.cutter_id,
            Setting.id != setting.id,
            Setting.state == SettingState.LIVE,
        )
    ):
        lapse(tx, other, "the cutter was set for something else")


def _make_live(tx: Write, setting: Setting) -> None:
    setting.state = SettingState.LIVE
    setting.lapsed_because = ""
    setting.live_since = tx.at
    setting.live_by_id = tx.by_id
    setting.clamp_up_id = None
    tx.session.add(setting)
    tx.session.flush()


def _end_empty_settings(tx: Write, port_pass_id: int) -> None:
    """A position belongs to one setting: an earlier one that names nothing else is over."""
    earlier = tx.session.exec(
        select(Setting)
        .join(SettingPort, col(SettingPort.setting_id) == col(Setting.id))
        .where(
            SettingPort.port_pass_id == port_pass_id,
            col(Setting.state) != SettingState.ENDED,
        )
    ).all()
    for setting in earlier:
        others = tx.session.exec(
            select(SettingPort.id).where(
                SettingPort.setting_id == setting.id, SettingPort.port_pass_id != port_pass_id
            )
        ).all()
        if not others:
            setting.state = SettingState.ENDED
            setting.lapsed_because = "another setting was made for its positions"
            tx.session.add(setting)
    tx.session.flush()


def _refresh(tx: Write, rows: SettingRows) -> None:
    for head in {named.head.id: named.head for named in rows.ports}.values():
        refresh_stages(tx, head)
