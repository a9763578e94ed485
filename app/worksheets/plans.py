"""The setting plan of a job, over all its heads: which positions share a setting."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from sqlmodel import Session

from app.calc.errors import CalculationError
from app.calc.plan import PlannedPort, PlannedSetting, SettingPlan, setting_plan
from app.calc.units import Length
from app.db import now
from app.workflow.kinds import SettingState
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Kind
from app.worksheets.errors_of_measurement import possible_error
from app.worksheets.facts import HeadSheet
from app.worksheets.instruments import load_bore_gauge, load_checked
from app.worksheets.interference import Window
from app.worksheets.materials import head_figures
from app.worksheets.targets import PortTarget, fit_of


@dataclass(frozen=True)
class PlannedGroup:
    """One setting to make: its bore, its positions, and how far the worst is from its aim."""

    planned: PlannedSetting
    targets: tuple[PortTarget, ...]

    @property
    def names(self) -> str:
        """``2E, 3E``."""
        return ", ".join(target.name for target in self.targets)


@dataclass(frozen=True)
class JobPlan:
    """What can be planned now, what suits no bore, and what is not ready."""

    groups: tuple[PlannedGroup, ...]
    plans: tuple[SettingPlan, ...]
    impossible: tuple[PortTarget, ...]
    not_ready: tuple[PortTarget, ...]
    under_way: tuple[PortTarget, ...]  # named by a setting already, or cut


def plan_job(
    session: Session,
    sheets: Mapping[int, HeadSheet],
    rules: ShopRules,
    unit: str,
    *,
    together: bool = False,
) -> JobPlan:
    """Fewest settings for the job; intakes and exhausts apart unless asked together."""
    targets = [target for sheet in sheets.values() for target in sheet.targets.values()]
    free = [target for target in targets if needs_setting(target, sheets)]
    ready = [target for target in free if target.is_ready]
    groups: list[PlannedGroup] = []
    plans: list[SettingPlan] = []
    impossible: list[PortTarget] = []
    errors = errors_of(session, ready, rules, unit)
    for part in _parts(ready, together):
        plan = plan_of(part, errors, rules, unit)
        plans.append(plan)
        by_name = {target.name: target for target in part}
        groups += [
            PlannedGroup(planned, tuple(by_name[name] for name in planned.ports))
            for planned in plan.settings
        ]
        impossible += [by_name[name] for name in plan.impossible]
    return JobPlan(
        groups=tuple(groups),
        plans=tuple(plans),
        impossible=tuple(impossible),
        not_ready=tuple(target for target in free if not target.is_ready),
        under_way=tuple(target for target in targets if target not in free),
    )


def plan_of(
    targets: Sequence[PortTarget], errors: Mapping[int, Length], rules: ShopRules, unit: str
) -> SettingPlan:
    """The plan of ready positions; raises CalculationError when there are none.

    `errors` is what each position's window is narrowed by, from `errors_of`.
    """
    ports = [
        PlannedPort(
            port=target.name,
            ring_od=_ring_od(target),
            window=fit_of(_window(target)),
            uncertainty=errors[target.rows.port.id],
        )
        for target in targets
    ]
    return setting_plan(ports=ports, repeatability=rules.length("setting_repeatability"), unit=unit)


def needs_setting(target: PortTarget, sheets: Mapping[int, HeadSheet]) -> bool:
    """No setting that stands names the position yet, and its bore is not cut to size."""
    rows = target.rows
    if rows.hold is not None or rows.ring_in is not None:
        return False
    sheet = sheets[target.head.id]
    facts = sheet.facts.port(target.label)
    if facts.cut.is_closed_by_value:
        return False
    if rows.setting is None or not facts.target.is_closed_by_value:
        return True
    size = sheet.rows.accepted.of_setting(rows.setting.id)
    return rows.setting.state is SettingState.ENDED or (size is not None and not size.stands)


def errors_of(
    session: Session, targets: Sequence[PortTarget], rules: ShopRules, unit: str
) -> dict[int, Length]:
    """How far each interference may be wrong, by position; statements do not grow with them."""
    checked = load_checked(session, [row.readings for each in targets for row in each.rings])
    gauge = load_bore_gauge(session, now()) if targets else None
    figures = {each.head.id: head_figures(session, each.head) for each in targets}
    # Positions of one set on one head share their rings, and so their error.
    worked: dict[tuple[object, ...], Length] = {}
    errors: dict[int, Length] = {}
    for target in targets:
        key = (target.head.id, _ring_od(target), *(row.ring.id for row in target.rings))
        if key not in worked:
            error = possible_error(
                diameter=_ring_od(target),
                rings=[row.readings for row in target.rings if row.measured],
                bore=None,
                ring_figures=target.set_working.material if target.set_working else None,
                head_figures=figures[target.head.id],
                checked=checked,
                rules=rules,
                unit=unit,
                bore_gauge=gauge,
            )
            worked[key] = _spread_of_rings(target) + error.expanded
        errors[target.rows.port.id] = worked[key]
    return errors


def _spread_of_rings(target: PortTarget) -> Length:
    """Rings that may be mixed differ: half their spread narrows the window at both ends."""
    ods = [row.measured.od for row in target.rings if row.measured]
    return Length.nearest((max(ods).nm - min(ods).nm + 1) // 2) if ods else Length(0)


def _ring_od(target: PortTarget) -> Length:
    if target.target is None:
        raise CalculationError("ring_od", f"{target.name}: its ring is not read")
    return target.target.target_bore + _window(target).aim


def _window(target: PortTarget) -> Window:
    if target.window is None:
        raise CalculationError("interference", f"{target.name}: its window is not known")
    return target.window


def _parts(ready: Iterable[PortTarget], together: bool) -> list[list[PortTarget]]:
    """One cutter cuts one material at a time; intakes and exhausts apart unless asked."""
    parts: dict[tuple[object, ...], list[PortTarget]] = {}
    for target in ready:
        kind = None if together else target.rows.port.kind
        parts.setdefault((target.head.material, kind), []).append(target)
    return [
        parts[key] for key in sorted(parts, key=lambda key: (str(key[0]), key[1] is Kind.INTAKE))
    ]
