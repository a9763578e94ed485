"""A setting's figures: what to set, what the achieved reading will cut, at which positions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeVar

from sqlmodel import Session, col, func, select

from app.calc.overcut import FirstPass, OvercutToUse, first_pass
from app.calc.setting import FixtureMode as CalcMode
from app.calc.setting import SetSize, bore_from_reading, size_setting
from app.calc.shown import shown_sum
from app.calc.sources import CUTTER_HABIT, GIVEN
from app.calc.trace import Step
from app.calc.units import Length
from app.models.crib import Cutter, Fixture, Pilot, TipChange
from app.models.head import Head, Port
from app.models.port_pass import CutOpening, PortPass
from app.models.setting import ClampUp, Setting, SettingAdjustment, SettingPort
from app.workflow.shop_rules import ShopRules
from app.workflow.words import FixtureMode, Material
from app.worksheets.overcut import overcut_to_use
from app.worksheets.results import Accepted, load_accepted
from app.worksheets.rows import IDS, rows_of

T = TypeVar("T", Cutter, Fixture, Pilot)

# Why a reading of the cutter was taken.
SET = "set"
RE_READ = "read again"


@dataclass(frozen=True)
class SettingWorking:
    """A setting worked out before it is made: sizes, overcut, and the first pass."""

    overcut: OvercutToUse
    first: FirstPass
    size: SetSize | None  # none for a fixed cutter
    set_size: Length
    expected_bore: Length


@dataclass(frozen=True)
class NamedPort:
    """A position named by a setting, with the window that it is judged against."""

    setting_port: SettingPort
    port_pass: PortPass
    port: Port
    head: Head

    @property
    def label(self) -> str:
        """``3E``."""
        return self.port.label

    def suits(self, bore: Length) -> bool:
        """Whether a bore would lie in its window."""
        return self.setting_port.bore_low <= bore <= self.setting_port.bore_high

    def is_under(self, bore: Length) -> bool:
        """Whether a bore would leave something to cut."""
        return bore < self.setting_port.bore_low


@dataclass(frozen=True)
class SettingRows:
    """A setting on record with everything its page and its refusals need."""

    setting: Setting
    cutter: Cutter
    fixture: Fixture | None
    pilot: Pilot | None
    ports: tuple[NamedPort, ...]
    adjustments: tuple[SettingAdjustment, ...]
    newest_opening: CutOpening | None  # the last position opened with it
    newest_clamp_up: ClampUp | None  # of that opening
    newest_tip_id: int | None  # the tip that is in the cutter now
    size: Accepted | None  # the size to set, as it was accepted last

    @property
    def adjustment(self) -> SettingAdjustment | None:
        """What the fixture read last."""
        return self.adjustments[-1] if self.adjustments else None

    @property
    def made_again_because(self) -> str:
        """Why the size no longer stands, so that reading the cutter again is not enough."""
        if self.size is not None and self.size.no_longer is not None:
            return self.size.no_longer.because
        if self.newest_tip_id != self.setting.tip_change_id:
            return "the tip was changed or ground since"
        return ""

    @property
    def is_read_as_it_stands(self) -> bool:
        """The last reading was judged by the overcut that holds now."""
        last = self.adjustment
        return last is not None and last.expected_bore == bore_to_expect(
            self.setting, last.achieved
        )

    @property
    def is_first_pass(self) -> bool:
        """It goes under size on purpose."""
        return self.setting.under_by.nm > 0

    @property
    def expected_bore(self) -> Length | None:
        """The bore that the reading now in the cutter will give."""
        return self.adjustment.expected_bore if self.adjustment else None

    def named(self, port_id: int) -> NamedPort | None:
        """The position, when the setting names it."""
        return next((named for named in self.ports if named.port.id == port_id), None)

    def may_cut(self, named: NamedPort) -> bool:
        """The reading now in the cutter leaves the position inside, or under on purpose."""
        bore = self.expected_bore
        if bore is None:
            return False
        return named.suits(bore) or (self.is_first_pass and named.is_under(bore))


def work_setting(
    session: Session,
    *,
    target_bore: Length,
    cutter: Cutter,
    fixture: Fixture | None,
    pilot: Pilot | None,
    material: Material,
    rules: ShopRules,
    unit: str,
) -> SettingWorking:
    """What to set for a bore with this cutter, fixture and pilot, in this head material."""
    learned = overcut_to_use(session, cutter.id, material, rules, unit)
    return setting_for(
        learned,
        target_bore=target_bore,
        cutter=cutter,
        fixture=fixture,
        pilot=pilot,
        rules=rules,
        unit=unit,
    )


def setting_for(
    learned: OvercutToUse,
    *,
    target_bore: Length,
    cutter: Cutter,
    fixture: Fixture | None,
    pilot: Pilot | None,
    rules: ShopRules,
    unit: str,
) -> SettingWorking:
    """The same with an overcut that was looked up before: several bores of one cutter."""
    first = first_pass(
        target_bore=target_bore,
        good_cuts=learned.count,
        under=Length(0) if cutter.fixed_size else rules.length("first_pass_under"),
        enough_cuts=rules.whole("good_cuts_needed"),
        unit=unit,
    )
    if cutter.fixed_size is not None:
        bore = cutter.fixed_size + learned.overcut
        return SettingWorking(learned, first, None, cutter.fixed_size, bore)
    if fixture is None:
        raise ValueError("an adjustable cutter is set on a fixture")
    size = size_for(first.aim, learned.overcut, fixture.mode, fixture.division, pilot, unit)
    return SettingWorking(learned, first, size, size.set_size, size.expected_bore)


def size_for(
    bore: Length,
    overcut: Length,
    mode: FixtureMode,
    division: Length,
    pilot: Pilot | None,
    unit: str,
) -> SetSize:
    """The fixture's reading for a bore, with the two other readings beside it."""
    return size_setting(
        target_bore=bore,
        overcut=overcut,
        mode=CalcMode(mode.value),
        pilot=pilot.shank_diameter if pilot else None,
        resolution=division,
        unit=unit,
    )


def size_of(setting: Setting, unit: str) -> SetSize | None:
    """The size of a setting on record, by its own frozen figures; none for a fixed cutter."""
    if setting.mode is None or setting.division is None:
        return None
    return size_setting(
        target_bore=setting.target_bore - setting.under_by,
        overcut=setting.overcut,
        mode=CalcMode(setting.mode.value),
        pilot=setting.across,
        resolution=setting.division,
        unit=unit,
    )


def working_of(setting: Setting, unit: str) -> tuple[Step, ...]:
    """The working of a setting on record: the bore wanted, a first pass if any, then the size."""
    size = size_of(setting, unit)
    if size is None:
        return ()
    if not setting.under_by:
        return size.working
    shown = shown_sum(parts=[(1, setting.target_bore.nm), (-1, setting.under_by.nm)], unit=unit)
    _, *steps = size.working
    return (
        Step("B", "bore wanted in the end", shown.parts[0], unit, GIVEN),
        Step("u", "− left for the second pass", shown.parts[1], unit, CUTTER_HABIT.cited),
        Step("B₁", "bore to aim at first", shown.total, unit, "B − u", is_total=True),
        *steps,
    )


def bore_to_expect(setting: Setting, achieved: Length) -> Length:
    """The bore that an achieved reading will give, overcut included."""
    if setting.mode is None:
        return setting.set_size + setting.overcut
    return bore_from_reading(
        reading=achieved,
        mode=CalcMode(setting.mode.value),
        pilot=setting.across,
        overcut=setting.overcut,
    )


def load_setting(session: Session, setting_id: int) -> SettingRows | None:
    """One setting with its positions, cutter, fixture, pilot and readings."""
    setting = session.get(Setting, setting_id)
    return load_settings(session, [setting])[setting.id] if setting else None


def load_settings(session: Session, settings: Sequence[Setting]) -> dict[int, SettingRows]:
    """Settings by id, in a fixed number of statements."""
    ids = [setting.id for setting in settings]
    if not ids:
        return {}
    named: dict[int, list[NamedPort]] = {setting_id: [] for setting_id in ids}
    given = {"ids": ids}
    for setting_port, port_pass, port, head in session.exec(_named_of(), params=given):
        named[setting_port.setting_id].append(NamedPort(setting_port, port_pass, port, head))
    adjustments: dict[int, list[SettingAdjustment]] = {setting_id: [] for setting_id in ids}
    for adjustment in rows_of(session, SettingAdjustment, "setting_id", ids):
        adjustments[adjustment.setting_id].append(adjustment)
    # Every cut was opened first, so the newest opening is the newest use.
    opened = {
        opening.setting_id: (opening, clamp_up)
        for opening, clamp_up in session.exec(_openings_of(), params=given)
    }
    cutter_ids = list({setting.cutter_id for setting in settings})
    tips = dict(session.exec(_tips_of(), params={"ids": cutter_ids}).all())
    accepted = load_accepted(session, setting_ids=ids)
    cutters = _by_id(session, Cutter, [setting.cutter_id for setting in settings])
    fixtures = _by_id(session, Fixture, [setting.fixture_id for setting in settings])
    pilots = _by_id(session, Pilot, [setting.pilot_id for setting in settings])
    return {
        setting.id: SettingRows(
            setting=setting,
            cutter=cutters[setting.cutter_id],
            fixture=fixtures.get(setting.fixture_id or 0),
            pilot=pilots.get(setting.pilot_id or 0),
            ports=tuple(named[setting.id]),
            adjustments=tuple(adjustments[setting.id]),
            newest_opening=opened[setting.id][0] if setting.id in opened else None,
            newest_clamp_up=opened[setting.id][1] if setting.id in opened else None,
            newest_tip_id=tips.get(setting.cutter_id),
            size=accepted.of_setting(setting.id),
        )
        for setting in settings
    }


def _by_id(session: Session, table: type[T], ids: Sequence[int | None]) -> dict[int, T]:
    wanted = {one for one in ids if one is not None}
    return {row.id: row for row in rows_of(session, table, "id", wanted)} if wanted else {}


# Statements are built once: building one takes as long as running it.


@cache
def _named_of() -> Any:
    return (
        select(SettingPort, PortPass, Port, Head)
        .join(PortPass, col(PortPass.id) == col(SettingPort.port_pass_id))
        .join(Port, col(Port.id) == col(PortPass.port_id))
        .join(Head, col(Head.id) == col(Port.head_id))
        .where(col(SettingPort.setting_id).in_(IDS))
        .order_by(col(Head.nth), col(Port.place))
    )


@cache
def _openings_of() -> Any:
    return (
        select(CutOpening, ClampUp)
        .join(ClampUp, col(ClampUp.id) == col(CutOpening.clamp_up_id))
        .where(col(CutOpening.setting_id).in_(IDS))
        .order_by(col(CutOpening.id))
    )


@cache
def _tips_of() -> Any:
    return (
        select(TipChange.cutter_id, func.max(col(TipChange.id)))
        .where(col(TipChange.cutter_id).in_(IDS))
        .group_by(col(TipChange.cutter_id))
    )
