"""The verdict on one bore with the ring that is to go in, by the readings that count."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session

from app.calc.decision import DecisionRule as CalcRule
from app.calc.errors import CalculationError
from app.calc.materials import HeadMaterial
from app.calc.shown import ShownSum
from app.calc.units import Length, mean_nm
from app.calc.verify import BoreShape, Verification, bore_shape, verify
from app.models.setting import ClampUp, SettingAdjustment
from app.workflow.doubtful import Doubt, Odd, odd_depth, odd_overcut, readings_in_doubt
from app.workflow.grids import BORE_HEIGHTS
from app.workflow.kinds import Quantity, Unit
from app.workflow.kinds import Verdict as WorkflowVerdict
from app.workflow.shop_rules import ShopRules
from app.workflow.verdicts import (
    Decision,
    Fit,
    Judgement,
    fit_sum,
    judge_depth,
    judge_fit,
    judge_roundness,
    judge_taper,
    judge_together,
)
from app.workflow.words import DecisionRule
from app.worksheets.decks import taken_at_depth
from app.worksheets.errors_of_measurement import PossibleError, possible_error, with_parts
from app.worksheets.facts import HeadSheet, bore_since_cut
from app.worksheets.head_rows import PortRows
from app.worksheets.instruments import load_checked
from app.worksheets.materials import head_figures
from app.worksheets.readings import Readings
from app.worksheets.targets import PortTarget


@dataclass(frozen=True)
class Proof:
    """What the readings say now; `open` names what is missing or in doubt."""

    verification: Verification | None
    judgement: Judgement | None
    readings: Readings | None
    doubts: tuple[Doubt, ...]
    open: tuple[str, ...]
    depth_wanted: Length | None
    reading_ids: tuple[int, ...] = ()
    odd: tuple[Odd, ...] = ()
    error: PossibleError | None = None

    @property
    def is_held(self) -> bool:
        """The shop's rules stop the position here."""
        return self.judgement is not None and self.judgement.decision is Decision.HOLD

    @property
    def asks(self) -> bool:
        """Near an edge: read again, or go on with one touch."""
        return self.judgement is not None and self.judgement.decision is Decision.ASK


def prove(session: Session, sheet: HeadSheet, rows: PortRows, rules: ShopRules) -> Proof:
    """Work the verdict of a position from what is gauged since its last cut."""
    unit = sheet.rows.job.job.unit
    readings = bore_since_cut(rows)
    target = sheet.targets.get(rows.port.id)
    if rows.port_pass is None or readings is None or target is None:
        return Proof(None, None, readings, (), ("bore and depth",), None)
    wanted = depth_wanted(session, rows)
    doubts = readings_in_doubt(readings.of(Quantity.BORE), rules.length("readings_apart"))
    if rows.cut is not None and rows.cut.is_first_pass:
        words = ("first pass, under size on purpose: correct the setting and cut to size",)
        odd = odd_figures(session, rows, readings, None, rules, unit)
        return Proof(None, None, readings, doubts, words, wanted, odd=odd)
    missing = _missing(readings, rules)
    odd = odd_figures(session, rows, readings, wanted, rules, unit)
    open_words = (*missing, *(f"{doubt.typed} in doubt" for doubt in doubts), *_ring_open(target))
    if doubts or _ring_open(target) or not readings.values(Quantity.BORE):
        return Proof(None, None, readings, doubts, open_words, wanted)
    try:
        error = bore_error(session, sheet, target, readings, rules)
        verification = _verify(session, sheet, rows, target, readings, rules, unit, error)
    except CalculationError as no:
        return Proof(None, None, readings, doubts, (*open_words, str(no)), wanted)
    return Proof(
        verification=verification,
        judgement=None if missing else _judge(rows, verification, readings, rules, unit, wanted),
        readings=readings,
        doubts=doubts,
        open=open_words,
        depth_wanted=wanted,
        reading_ids=tuple([kept.id for kept in readings.counting] + target.reading_ids),
        odd=odd,
        error=error,
    )


def bore_error(
    session: Session, sheet: HeadSheet, target: PortTarget, readings: Readings, rules: ShopRules
) -> PossibleError:
    """How far ring less bore may be wrong, by what both were read with."""
    rings = [row.readings for row in target.rings if row.measured]
    return possible_error(
        diameter=Length.nearest(mean_nm(ring_sizes(target))),
        rings=rings,
        bore=readings,
        ring_figures=target.set_working.material if target.set_working else None,
        head_figures=head_figures(session, sheet.head),
        checked=load_checked(session, [*rings, readings]),
        rules=rules,
        unit=sheet.rows.job.job.unit.value,
    )


def depth_wanted(session: Session, rows: PortRows) -> Length | None:
    """The depth to gauge now: as accepted, with the deck stock that is still to come off."""
    if rows.port_pass is None:
        return None
    if rows.cut is None:
        return rows.port_pass.depth
    clamp_up = session.get_one(ClampUp, rows.cut.clamp_up_id)
    planned = clamp_up.deck_stock or Length(0)
    return rows.port_pass.depth + planned - taken_at_depth(session, rows)


def shape_of(readings: Readings, unit: Unit) -> BoreShape | None:
    """Roundness at each height, taper between mouth and floor; None before anything is gauged."""
    levels = []
    for places in BORE_HEIGHTS:
        kept = [readings.at(Quantity.BORE, place) for place in places]
        level = [one.value for one in kept if one is not None]
        if level:
            levels.append(level)
    return bore_shape(levels=levels, unit=unit.value) if levels else None


def odd_figures(
    session: Session,
    rows: PortRows,
    readings: Readings,
    wanted: Length | None,
    rules: ShopRules,
    unit: Unit,
) -> tuple[Odd, ...]:
    """What is possible and odd about a bore as gauged: asked once before it is judged."""
    if rows.cut is None:
        return ()
    found: list[Odd | None] = []
    adjustment = session.get(SettingAdjustment, rows.cut.setting_adjustment_id)
    bores = readings.values(Quantity.BORE)
    if adjustment is not None and bores:
        over = Length.nearest(mean_nm(bores)) - adjustment.set_size
        found.append(odd_overcut(over, unit, rules.length("overcut_odd")))
    depth = readings.one(Quantity.DEPTH)
    if depth is not None and wanted is not None:
        found.append(odd_depth(depth, wanted, unit))
    return tuple(odd for odd in found if odd is not None)


def ring_sizes(target: PortTarget) -> list[Length]:
    """Mean ODs at 20 °C of the rings that may go in; one reading each of a single ring."""
    return [row.measured.od for row in target.rings if row.measured]


def _verify(
    session: Session,
    sheet: HeadSheet,
    rows: PortRows,
    target: PortTarget,
    readings: Readings,
    rules: ShopRules,
    unit: Unit,
    error: PossibleError,
) -> Verification:
    port_pass = rows.port_pass
    assert port_pass is not None
    material, alloy = sheet.head.material, head_figures(session, sheet.head)
    sizes = ring_sizes(target)
    found = verify(
        ring_od=sizes,
        rings=len(sizes),
        bore=readings.values(Quantity.BORE),
        interference_min=port_pass.rule_least,
        interference_max=port_pass.rule_most,
        ring_uncertainty=error.ring.expanded,
        bore_uncertainty=error.bore.expanded,
        shared_master=error.shared_master,
        temperature_uncertainty=error.heat.expanded,
        decision_rule=CalcRule(rules.word("decision_rule", DecisionRule).value),
        head_material=HeadMaterial(material.value) if material else None,
        alloy_expansion=alloy.expansion if alloy and alloy.is_own else None,
        bore_temperature_c=readings.part_c,
        gauge_temperature_c=readings.gauge_c,
        unit=unit.value,
    )
    return with_parts(found, error)


def _judge(
    rows: PortRows,
    verification: Verification,
    readings: Readings,
    rules: ShopRules,
    unit: Unit,
    wanted: Length | None,
) -> Judgement:
    port_pass = rows.port_pass
    assert port_pass is not None
    judgements = [
        judge_fit(
            WorkflowVerdict(verification.verdict.value),
            rules.word("decision_rule", DecisionRule),
            verification.close_to_edge,
            Fit(
                verification.interference,
                port_pass.rule_least,
                port_pass.rule_most,
                verification.uncertainty,
            ),
            unit,
        )
    ]
    shape = shape_of(readings, unit)
    if shape is not None and shape.roundness is not None:
        judgements.append(judge_roundness(shape.roundness, rules.length("roundness_limit"), unit))
    if shape is not None and shape.taper is not None:
        judgements.append(judge_taper(abs(shape.taper), rules.length("taper_limit"), unit))
    depth = readings.one(Quantity.DEPTH)
    if depth is not None and wanted is not None:
        judgements.append(judge_depth(depth, wanted, rules.length("depth_tolerance"), unit))
    return judge_together(judgements)


def _missing(readings: Readings, rules: ShopRules) -> tuple[str, ...]:
    wanted = rules.whole("bore_readings")
    got = len(readings.of(Quantity.BORE))
    missing: list[str] = []
    if got < wanted:
        missing.append("one more bore reading" if wanted - got == 1 else "bore readings")
    if readings.one(Quantity.DEPTH) is None:
        missing.append("depth")
    return tuple(missing)


def _ring_open(target: PortTarget) -> Sequence[str]:
    return target.open if target.target is None or target.open else ()


def proved_sum(rows: PortRows, unit: Unit) -> ShownSum | None:
    """Ring, bore and interference of the newest verdict as texts that subtract."""
    found, port_pass = rows.verification, rows.port_pass
    if found is None:
        return None
    window = (port_pass.rule_least, port_pass.rule_most) if port_pass else ()
    return fit_sum(found.interference + found.bore_mean, found.bore_mean, unit, window)
