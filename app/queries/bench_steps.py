"""The next steps at the positions of a head, told once for all that want the same."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from app.models.head import Port
from app.workflow.kinds import SettingState
from app.workflow.next_step import COUNTER_PAGES
from app.workflow.settings import SettingStanding
from app.workflow.stages import Step, order_at_bench, stages_of
from app.workflow.words import Page, Stage, Work
from app.worksheets.cutting import setting_name
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows
from app.worksheets.settings import SettingRows


@dataclass(frozen=True)
class BenchStep:
    """What is next at some positions of a head, told once for all that want the same."""

    words: str
    page: Page
    ports: tuple[Port, ...]
    stage: Stage
    setting_id: int | None = None  # the setting page is where it goes on
    clamp_first: bool = False
    is_hold: bool = False

    @property
    def labels(self) -> tuple[str, ...]:
        """``3E``."""
        return tuple(port.label for port in self.ports)


@dataclass(frozen=True)
class StepsAtBench:
    """What the steps of a head depend on beside its own facts."""

    clamped: Collection[int]  # heads that are on a machine
    settings: Mapping[int, SettingRows]
    standing: Mapping[int, SettingStanding | None]

    def of(self, sheet: HeadSheet) -> tuple[tuple[BenchStep, ...], tuple[str, ...]]:
        """What can be done, holds first; and what the others wait for."""
        at = stages_of(sheet.facts)
        found: dict[tuple[str, Page, int | None], BenchStep] = {}
        waits: dict[str, None] = {}
        if sheet.facts.is_scrap:
            return (), (f"not to be worked on: {sheet.facts.way_because}",)
        if not sheet.rows.ports:
            waits["describe the head"] = None
        for rows in sheet.rows.ports:
            step = at[rows.label].next
            if step is None:
                continue
            if step.page in COUNTER_PAGES or _is_wait(sheet, rows, step):
                waits[step.screen] = None
                continue
            made = self._step(sheet, rows, step, at[rows.label].stage)
            key = (made.words, made.page, made.setting_id)
            known = found.get(key)
            ports = (*(known.ports if known else ()), rows.port)
            found[key] = BenchStep(
                made.words,
                made.page,
                ports,
                made.stage,
                made.setting_id,
                made.clamp_first,
                made.is_hold,
            )
        steps = sorted(
            found.values(),
            key=lambda each: (not each.is_hold, order_at_bench(each.stage, each.page)),
        )
        return tuple(steps), tuple(waits)

    def _step(self, sheet: HeadSheet, rows: PortRows, step: Step, stage: Stage) -> BenchStep:
        """The stage's own step; where a setting or the clamp-up comes first, that."""
        hold = step.page is Page.HOLD
        # Told for all that want the same, so without the position's own label.
        words = step.screen.replace(f"{rows.label}: ", "", 1)
        plain = BenchStep(words, step.page, (rows.port,), stage, is_hold=hold)
        setting = self.settings.get(rows.setting.id) if rows.setting else None
        if setting is None and stage is Stage.SET and not hold:
            return BenchStep("plan the setting", Page.SETTING, (rows.port,), stage)
        if setting is None or hold or stage not in (Stage.SET, Stage.CUT):
            return plain
        name = setting_name(setting.setting)
        if setting.made_again_because:
            return BenchStep(f"make {name} again", Page.SETTING, (rows.port,), stage)
        if stage is Stage.SET:
            return BenchStep(
                f"set {setting.cutter.name} ({name})",
                Page.SETTING,
                (rows.port,),
                stage,
                setting.setting.id,
            )
        if sheet.facts.port(rows.label).opened_unrecorded or not _is_cutting(sheet, rows):
            return plain
        standing = self.standing[setting.setting.id]
        if setting.setting.state is not SettingState.LIVE or (standing and not standing.is_live):
            set_anew = setting.setting.state is not SettingState.LIVE
            verb, again = ("set", "") if set_anew else ("read", " again")
            return BenchStep(
                f"{verb} {setting.cutter.name}{again} ({name})",
                Page.SETTING,
                (rows.port,),
                stage,
                setting.setting.id,
            )
        if sheet.head.id not in self.clamped:
            return BenchStep("clamp up and cut", Page.CUT, (rows.port,), stage, clamp_first=True)
        return plain


def _is_cutting(sheet: HeadSheet, rows: PortRows) -> bool:
    """Metal is still to come off: the bore is not cut to size."""
    return rows.port.work is Work.RING and not sheet.facts.port(rows.label).cut.is_closed_by_value


def _is_wait(sheet: HeadSheet, rows: PortRows, step: Step) -> bool:
    """Its ring is on order and not here."""
    return step.page is Page.RING_SET and bool(sheet.facts.port(rows.label).wanted_ring)
