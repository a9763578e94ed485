"""The setting plan of a job, over all its heads: which positions share a setting."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from app.calc.errors import CalculationError
from app.calc.plan import PlannedPort, PlannedSetting, SettingPlan, setting_plan
from app.calc.uncertainty import interference_uncertainty
from app.calc.units import Length
from app.workflow.kinds import SettingState
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Kind
from app.worksheets.facts import HeadSheet
from app.worksheets.interference import Window
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
    sheets: Mapping[int, HeadSheet], rules: ShopRules, unit: str, *, together: bool = False
) -> JobPlan:
    """Fewest settings for the job; intakes and exhausts apart unless asked together."""
    targets = [target for sheet in sheets.values() for target in sheet.targets.values()]
    free = [target for target in targets if needs_setting(target, sheets)]
    ready = [target for target in free if target.is_ready]
    groups: list[PlannedGroup] = []
    plans: list[SettingPlan] = []
    impossible: list[PortTarget] = []
    for part in _parts(ready, together):
        plan = plan_of(part, rules, unit)
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


def plan_of(targets: Sequence[PortTarget], rules: ShopRules, unit: str) -> SettingPlan:
    """The plan of ready positions; raises CalculationError when there are none."""
    ports = [
        PlannedPort(
            port=target.name,
            ring_od=_ring_od(target),
            window=fit_of(_window(target)),
            uncertainty=bore_error(target, rules, unit),
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


def bore_error(target: PortTarget, rules: ShopRules, unit: str) -> Length:
    """How far an interference may be wrong, ring and bore together, expanded."""
    ring = interference_uncertainty(
        ring_uncertainty=rules.length("ring_uncertainty"),
        bore_uncertainty=rules.length("bore_uncertainty"),
        unit=unit,
    )
    return _spread_of_rings(target) + ring.expanded


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
