"""Settings on record: set and read back, corrected, lapsed, ended."""

from __future__ import annotations

from sqlmodel import select

from app.calc.overcut import correction
from app.calc.units import Length
from app.forms.settings import AchievedForm
from app.models.job import Job
from app.models.setting import Setting, SettingAdjustment
from app.queries.shop_rules import current_rules
from app.services.owned import still_open
from app.services.results import accept
from app.services.stages import refresh_stages
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.kinds import ResultKind, SettingState, Unit
from app.workflow.settings import ReCheck, re_check, unlikely_reading
from app.worksheets.facts import shop_zone
from app.worksheets.overcut import newest_tip
from app.worksheets.settings import (
    RE_READ,
    SET,
    SettingRows,
    bore_to_expect,
    load_setting,
    size_of,
)


@use_case
def record_achieved(tx: Write, setting_id: int, form: AchievedForm) -> Setting:
    """What the fixture reads after locking, judged by the bore that it will give.

    It is kept whatever it is; the setting is live only for positions whose window it leaves
    whole (or under size, on a first pass). Setting a cutter ends what it was set at before. A
    re-check that moved by more than a division says that the tool was not held: set it anew.
    """
    rows = get_setting(tx, setting_id)
    setting = rows.setting
    still_open(tx.session.get_one(Job, setting.job_id))
    if setting.mode is None or form.achieved is None:
        raise Refused("This cutter is of a fixed size: there is nothing to read back.")
    if setting.state is SettingState.ENDED:
        raise Refused("This setting is over. Make a new one for the positions that are left.")
    size = size_of(setting, tx.session.get_one(Job, setting.job_id).unit.value)
    unit = rows.fixture.unit if rows.fixture else Unit.INCH
    if size is not None and (
        why_not := unlikely_reading(
            form.achieved, bore_to_expect(setting, form.achieved), size, unit
        )
    ):
        raise Refused(f"{why_not} Nothing was kept.", "achieved")
    if rows.made_again_because:
        raise Refused(
            f"This size no longer stands: {rows.made_again_because}. Make the setting again for "
            "the positions that are left; nothing was changed."
        )
    checked = _re_checked(tx, rows, form.achieved)
    why = SET if checked is None else RE_READ
    adjustment = tx.add(adjust(tx, setting, form.achieved, form.typed, why))
    take_over_cutter(tx, setting)
    now = get_setting(tx, setting_id)
    moved = checked is not None and not checked.agrees
    if not moved and any(now.may_cut(named) for named in now.ports):
        make_live(tx, setting)
    else:
        setting.state = SettingState.READY
        setting.lapsed_because = checked.told[:300] if checked is not None and moved else ""
        tx.session.add(setting)
        tx.session.flush()
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
    size = size_of(setting, job.unit.value)
    assert size is not None
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


def lapse(tx: Write, setting: Setting, because: str) -> None:
    """The cutter has to be read again before this setting may cut."""
    setting.state = SettingState.LAPSED
    setting.lapsed_because = because[:300]
    tx.session.add(setting)
    _refresh(tx, get_setting(tx, setting.id))


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


def adjust(
    tx: Write, setting: Setting, achieved: Length, typed: str, why: str
) -> SettingAdjustment:
    """A reading to be kept, with the bore that it will give."""
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


def take_over_cutter(tx: Write, setting: Setting) -> None:
    """One size at a time: whatever else this cutter was set at is no longer in it."""
    for other in tx.session.exec(
        select(Setting).where(
            Setting.cutter_id == setting.cutter_id,
            Setting.id != setting.id,
            Setting.state == SettingState.LIVE,
        )
    ):
        lapse(tx, other, "the cutter was set for something else")


def make_live(tx: Write, setting: Setting) -> None:
    """The cutter is set and read: it may cut the positions whose window it leaves whole."""
    setting.state = SettingState.LIVE
    setting.lapsed_because = ""
    setting.live_since = tx.at
    setting.live_by_id = tx.by_id
    setting.clamp_up_id = None
    tx.session.add(setting)
    tx.session.flush()


def _re_checked(tx: Write, rows: SettingRows, again: Length) -> ReCheck | None:
    """What a reading of a cutter that was left as it is says; None when it was set anew.

    It was left when it is live and was used since, or when another day or person reads it.
    """
    setting, last = rows.setting, rows.adjustment
    if setting.state is not SettingState.LIVE or last is None or setting.division is None:
        return None
    zone = shop_zone(tx.session)
    opened = rows.newest_opening
    was_left = (
        last.by_id != tx.by_id
        or last.at.astimezone(zone).date() != tx.at.astimezone(zone).date()
        or (opened is not None and opened.at > last.at)
    )
    if not was_left:
        return None
    unit = rows.fixture.unit if rows.fixture else Unit.INCH
    return re_check(last.achieved, again, setting.division, unit)


def _refresh(tx: Write, rows: SettingRows) -> None:
    for head in {named.head.id: named.head for named in rows.ports}.values():
        refresh_stages(tx, head)
