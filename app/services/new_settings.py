"""Making a setting: one cutter at one size for named positions, worked out and not set yet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlmodel import col, select

from app.calc.errors import CalculationError
from app.calc.units import Length
from app.forms.settings import SettingForm
from app.models.crib import Cutter, Fixture, Pilot
from app.models.job import Job
from app.models.port_pass import PortPass
from app.models.setting import Setting, SettingPort
from app.queries.shop_rules import current_rules
from app.services.passes import accept_target, sheets_of_job, window_of
from app.services.pocket_findings import accept_pocket
from app.services.results import accept
from app.services.settings import adjust, make_live, newest_tip_id, take_over_cutter
from app.services.stages import refresh_stages
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.kinds import CutterKind, ResultKind, SettingState
from app.workflow.shop_rules import ShopRules
from app.workflow.words import FixtureMode, listed
from app.worksheets.cutting import setting_name
from app.worksheets.facts import HeadSheet
from app.worksheets.plans import errors_of, needs_setting, plan_of
from app.worksheets.settings import SET, SettingWorking, work_setting
from app.worksheets.targets import PortTarget


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
    targets = _targets(sheets, form, unit)
    tools = _tools(tx, form)
    materials = {target.head.material for target in targets}
    material = next(iter(materials))
    if len(materials) != 1 or material is None:
        raise Refused(
            "These heads are of different material, or it is not known: one cutter cuts one "
            "material at a time. Make a setting for each; nothing was changed."
        )
    bore = _one_bore(tx, targets, rules, unit)
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
    _ask_odd_overcut(form, working, rules, unit)
    if tools.cutter.fixed_size is not None:
        _refuse_fixed_outside(targets, working, tools.cutter, unit)
    setting = tx.add(_row(tx, job, tools, bore, working))
    for target in targets:
        port_pass = accept_target(tx, target)
        accept_pocket(tx, sheets[target.head.id], target.rows, port_pass, rules)
        low, high = window_of(target)
        tx.session.add(
            SettingPort(
                setting_id=setting.id, port_pass_id=port_pass.id, bore_low=low, bore_high=high
            )
        )
    tx.session.flush()
    _end_empty_settings(tx, setting)
    _accept_size(tx, setting, working, targets)
    if tools.cutter.fixed_size is not None:
        take_over_cutter(tx, setting)
        tx.add(adjust(tx, setting, tools.cutter.fixed_size, "fixed size", SET))
        make_live(tx, setting)
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


def _targets(sheets: Mapping[int, HeadSheet], form: SettingForm, unit: str) -> list[PortTarget]:
    every = {
        port_id: target for sheet in sheets.values() for port_id, target in sheet.targets.items()
    }
    found = []
    for port_id in dict.fromkeys(form.port_ids):
        if port_id not in every:
            raise NotFound("One of these positions gets no seat ring in this job.")
        target = every[port_id]
        if target.rows.hold is not None:
            raise Refused(f"{target.name} is on hold: {target.rows.hold.words}")
        if target.rows.ring_in is not None:
            raise Refused(f"{target.name} has its ring in already.")
        if not target.is_ready:
            raise Refused(f"{target.name} is not ready: {'; '.join(target.open)}.")
        if sheets[target.head.id].facts.port(target.label).cut.is_closed_by_value:
            raise Refused(
                f"{target.name} is bored to size already. Untick it; nothing was changed."
            )
        _refuse_stale(sheets, target, form.aims.get(port_id), unit)
        found.append(target)
    return found


def _refuse_stale(
    sheets: Mapping[int, HeadSheet], target: PortTarget, seen: Length | None, unit: str
) -> None:
    """The plan page sends the bore that it showed: what changed meanwhile is looked at first."""
    if seen is None or target.target is None:
        return
    setting, now = target.rows.setting, target.target.target_bore
    if setting is not None and not needs_setting(target, sheets):
        raise Refused(
            f"{setting_name(setting)} was made for {target.name} since this page was opened. Open "
            "it, or untick the position; nothing was changed."
        )
    if seen != now:
        raise Refused(
            f"{target.name}: its counterbore was {seen.shown(unit, 5, 4)} {unit} when this page "
            f"was opened and is {now.shown(unit, 5, 4)} now: its ring or rule changed. Look at the "
            "plan again; nothing was changed."
        )


def _ask_odd_overcut(
    form: SettingForm, working: SettingWorking, rules: ShopRules, unit: str
) -> None:
    learned, odd = working.overcut.overcut, rules.length("overcut_odd")
    if abs(learned) > odd and not form.confirmed("overcut"):
        raise Refused(
            f"This tip is said to cut {learned.shown(unit, 5, 4)} {unit} beside its size, more "
            f"than {odd.shown(unit)}. Is that so?",
            "confirm_overcut",
        )


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


def _one_bore(tx: Write, targets: list[PortTarget], rules: ShopRules, unit: str) -> Length:
    plan = plan_of(targets, errors_of(tx.session, targets, rules, unit), rules, unit)
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


def _end_empty_settings(tx: Write, made: Setting) -> None:
    """A position belongs to its newest setting: earlier ones with nothing left are over."""
    taken = select(SettingPort.port_pass_id).where(SettingPort.setting_id == made.id)
    earlier = tx.session.exec(
        select(Setting)
        .join(SettingPort, col(SettingPort.setting_id) == col(Setting.id))
        .where(
            col(SettingPort.port_pass_id).in_(taken),
            col(Setting.id) != made.id,
            col(Setting.state) != SettingState.ENDED,
        )
    ).all()
    for setting in {each.id: each for each in earlier}.values():
        newer = select(SettingPort.port_pass_id).where(col(SettingPort.setting_id) > setting.id)
        left = tx.session.exec(
            select(PortPass.id)
            .join(SettingPort, col(SettingPort.port_pass_id) == col(PortPass.id))
            .where(
                SettingPort.setting_id == setting.id,
                col(PortPass.closed_at).is_(None),
                col(PortPass.id).not_in(newer),
            )
        ).first()
        if left is None:
            setting.state = SettingState.ENDED
            setting.lapsed_because = "another setting was made for its positions"
            tx.session.add(setting)
    tx.session.flush()
