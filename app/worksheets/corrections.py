"""What a bore says of the setting that it was cut with: how much of the error to correct."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session, col, func, select

from app.calc.overcut import Correction, correction
from app.calc.temperature import size_at_reference
from app.calc.units import Length, mean_nm
from app.models.port_pass import Cut, OvercutSample, OvercutStrike
from app.models.setting import SettingAdjustment
from app.workflow.kinds import Quantity, SettingState
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Material
from app.worksheets.facts import HeadSheet, bore_since_cut
from app.worksheets.head_rows import PortRows
from app.worksheets.materials import head_figures
from app.worksheets.readings import Readings
from app.worksheets.settings import SettingRows


@dataclass(frozen=True)
class Advice:
    """One bore against what its setting was expected to cut, and what to do about the next."""

    measured: Length  # mean bore at 20 °C
    expected: Length
    error: Length
    earlier_cuts: int
    correction: Correction
    # The cutter still stands as it cut this bore, and can be corrected at all.
    is_open: bool


def advice_for(
    session: Session, sheet: HeadSheet, rows: PortRows, setting: SettingRows, rules: ShopRules
) -> Advice | None:
    """None while the bore is not gauged; a shop's first bores correct most, later ones less."""
    readings, cut = bore_since_cut(rows), rows.cut
    if readings is None or cut is None or not readings.values(Quantity.BORE):
        return None
    if setting.setting.id != cut.setting_id:
        return None
    adjustment = session.get_one(SettingAdjustment, cut.setting_adjustment_id)
    measured = bore_at_reference(session, sheet, readings)
    error = measured - adjustment.expected_bore
    earlier = cuts_behind(session, cut, setting, sheet.head.material)
    newest = setting.adjustment
    return Advice(
        measured=measured,
        expected=adjustment.expected_bore,
        error=error,
        earlier_cuts=earlier,
        correction=correction(
            error=error,
            earlier_cuts=earlier,
            dead_band=rules.length("correction_dead_band"),
            unit=sheet.rows.job.job.unit.value,
        ),
        is_open=(
            setting.setting.mode is not None
            and setting.setting.state is SettingState.LIVE
            and newest is not None
            and newest.id == adjustment.id
        ),
    )


def bore_at_reference(session: Session, sheet: HeadSheet, readings: Readings) -> Length:
    """The mean of what was gauged, at 20 °C."""
    figures = head_figures(session, sheet.head)
    mean = mean_nm(readings.values(Quantity.BORE))
    if figures is None or figures.expansion is None:
        return Length.nearest(mean)
    return Length.nearest(
        size_at_reference(
            read=Length.nearest(mean),
            temperature_c=readings.part_c,
            gauge_temperature_c=readings.gauge_c,
            alpha_per_k=figures.expansion.alpha_per_k,
        )
    )


def cuts_behind(session: Session, cut: Cut, setting: SettingRows, material: Material | None) -> int:
    """n₀: signed bores of this tip and material, and what this setting cut before this bore."""
    tip = setting.setting.tip_change_id
    signed = session.exec(
        select(func.count(col(OvercutSample.id)))
        .join(Cut, col(Cut.id) == col(OvercutSample.cut_id))
        .outerjoin(OvercutStrike, col(OvercutStrike.overcut_sample_id) == col(OvercutSample.id))
        .where(
            OvercutSample.cutter_id == setting.cutter.id,
            OvercutSample.material == material,
            col(OvercutSample.tip_change_id).is_(None)
            if tip is None
            else col(OvercutSample.tip_change_id) == tip,
            col(OvercutStrike.id).is_(None),
            col(Cut.setting_id) != setting.setting.id,
        )
    ).one()
    of_this = session.exec(
        select(func.count(col(Cut.id))).where(
            Cut.setting_id == setting.setting.id, col(Cut.id) < cut.id
        )
    ).one()
    return signed + of_this
