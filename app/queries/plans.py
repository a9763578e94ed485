"""The setting plan of a job: what to set for which positions, and with what it can be set."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from sqlmodel import Session, col, select

from app.calc.overcut import OvercutToUse, overcut_for_new_setting
from app.calc.shown import shown_apart
from app.calc.units import Length
from app.models.crib import Cutter, Fixture, Pilot
from app.models.customer import Customer
from app.models.head import Head
from app.models.job import Job
from app.models.setting import Setting
from app.queries.crib import CutterLine, cutter_lines, in_use
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Material
from app.worksheets.cutting import settings_of_job
from app.worksheets.facts import HeadSheet, load_sheets
from app.worksheets.overcut import good_cuts_of
from app.worksheets.pilots import PilotFit, pilot_fit
from app.worksheets.plans import JobPlan, PlannedGroup, plan_job
from app.worksheets.settings import SettingRows
from app.worksheets.shop_rules import current_rules
from app.worksheets.targets import PortTarget


@dataclass(frozen=True, slots=True)
class PlannedPosition:
    """One position of a planned setting: its own aim, and how far the setting is from it."""

    target: PortTarget
    aim: Length
    off: Length
    least: Length
    most: Length

    def apart(self, unit: str) -> str:
        """How far the setting is from its aim, by the figures that are shown of both."""
        return shown_apart((self.aim + self.off).nm, self.aim.nm, unit)


@dataclass(frozen=True, slots=True)
class CutterChoice:
    """A cutter with its tip, what it is set at now, and what its tip is known to cut."""

    line: CutterLine
    overcut: OvercutToUse
    fixed_bore: Length | None  # the bore that a fixed one is expected to cut
    outside: tuple[str, ...]  # positions whose window that bore leaves

    @property
    def cutter(self) -> Cutter:
        """Its row."""
        return self.line.cutter


@dataclass(frozen=True)
class GroupView:
    """One setting to make, with everything there is to choose."""

    nth: int
    planned: PlannedGroup
    material: Material
    positions: tuple[PlannedPosition, ...]
    cutters: tuple[CutterChoice, ...]
    pilots: tuple[PilotFit, ...]

    @property
    def bore(self) -> Length:
        """The bore that suits them all."""
        return self.planned.planned.bore

    @property
    def least(self) -> Length:
        """The smallest bore that is inside every window."""
        return max(each.least for each in self.positions)

    @property
    def most(self) -> Length:
        """The largest bore that is inside every window."""
        return min(each.most for each in self.positions)

    def farthest(self, unit: str) -> str:
        """The largest distance from an aim, as shown."""
        return max((each.apart(unit) for each in self.positions), key=Fraction)

    @property
    def port_ids(self) -> tuple[int, ...]:
        """Its positions."""
        return tuple(each.target.rows.port.id for each in self.positions)


@dataclass(frozen=True)
class PlanView:
    """The plan page of a job."""

    job: Job
    customer: Customer | None
    sheets: Mapping[int, HeadSheet]
    plan: JobPlan
    groups: tuple[GroupView, ...]
    fixtures: tuple[Fixture, ...]
    settings: tuple[SettingRows, ...]  # not over
    used_last: Setting | None  # the job's newest: its fixture and pilot are likely again

    @property
    def heads(self) -> list[Head]:
        """The job's heads in order."""
        return [sheet.head for sheet in self.sheets.values()]


def show_plan(session: Session, job: Job, *, together: bool) -> PlanView:
    """Gather the page; the number of statements does not grow with the positions."""
    heads = session.exec(select(Head).where(Head.job_id == job.id).order_by(col(Head.nth))).all()
    sheets = load_sheets(session, heads)
    rules, unit = current_rules(session), job.unit.value
    plan = plan_job(session, sheets, rules, unit, together=together)
    choices = _Choices(session, rules, unit) if plan.groups else None
    newest = session.exec(
        select(Setting).where(Setting.job_id == job.id).order_by(col(Setting.id).desc()).limit(1)
    ).first()
    return PlanView(
        job=job,
        customer=session.get(Customer, job.customer_id) if job.customer_id else None,
        sheets=sheets,
        plan=plan,
        groups=tuple(
            _group(nth, group, choices)
            for nth, group in enumerate(plan.groups, start=1)
            if choices is not None
        ),
        fixtures=tuple(in_use(session, Fixture)) if plan.groups else (),
        settings=tuple(settings_of_job(session, job.id).values()),
        used_last=newest,
    )


class _Choices:
    """The crib's cutters and pilots, read once for every group of the page."""

    def __init__(self, session: Session, rules: ShopRules, unit: str) -> None:
        self.rules, self.unit = rules, unit
        self.lines = cutter_lines(session, in_use(session, Cutter))
        self.pilots = in_use(session, Pilot)
        self.cuts = good_cuts_of(
            session, {line.cutter.id: line.tip.id if line.tip else None for line in self.lines}
        )

    def cutters(self, targets: tuple[PortTarget, ...], material: Material) -> list[CutterChoice]:
        """Fixed ones that would leave a window come last."""
        found = [self._cutter(line, targets, material) for line in self.lines]
        return sorted(found, key=lambda each: bool(each.outside))

    def _cutter(
        self, line: CutterLine, targets: tuple[PortTarget, ...], material: Material
    ) -> CutterChoice:
        learned = overcut_for_new_setting(
            cuts=self.cuts[line.cutter.id].get(material, []),
            enough_cuts=self.rules.whole("good_cuts_needed"),
            unit=self.unit,
        )
        fixed = line.cutter.fixed_size
        if fixed is None:
            return CutterChoice(line, learned, None, ())
        bore = fixed + learned.overcut
        return CutterChoice(
            line,
            learned,
            bore,
            tuple(target.name for target in targets if not _suits(target, bore)),
        )

    def fits(self, targets: tuple[PortTarget, ...]) -> list[PilotFit]:
        """Those that enter first, the closest of them before the loose ones."""
        found = [pilot_fit(pilot, targets, self.rules, self.unit) for pilot in self.pilots]
        far = Length.of("1")
        return sorted(
            found,
            key=lambda fit: (
                not fit.is_close,
                not fit.enters,
                not fit.is_known,
                fit.clearances[-1] if fit.clearances else far,
            ),
        )


def _group(nth: int, group: PlannedGroup, choices: _Choices) -> GroupView:
    material = group.targets[0].head.material
    assert material is not None
    return GroupView(
        nth=nth,
        planned=group,
        material=material,
        positions=tuple(_position(group, target) for target in group.targets),
        cutters=tuple(choices.cutters(group.targets, material)),
        pilots=tuple(choices.fits(group.targets)),
    )


def _position(group: PlannedGroup, target: PortTarget) -> PlannedPosition:
    assert target.target is not None
    assert target.bore_low is not None
    assert target.bore_high is not None
    aim = target.target.target_bore
    return PlannedPosition(
        target=target,
        aim=aim,
        off=group.planned.bore - aim,
        least=target.bore_low,
        most=target.bore_high,
    )


def _suits(target: PortTarget, bore: Length) -> bool:
    if target.bore_low is None or target.bore_high is None:
        return False
    return target.bore_low <= bore <= target.bore_high
