"""What a cutter's tip has cut so far, by head material: signed bores that still count."""

from __future__ import annotations

from collections import defaultdict

from sqlmodel import Session, col, select

from app.calc.overcut import Cut, Overcut, OvercutToUse, overcut, overcut_for_new_setting
from app.models.crib import TipChange
from app.models.port_pass import OvercutSample, OvercutStrike
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Material


def newest_tip(session: Session, cutter_id: int) -> TipChange | None:
    """The last time that the tip was changed or ground; none since the cutter came."""
    return session.exec(
        select(TipChange)
        .where(TipChange.cutter_id == cutter_id)
        .order_by(col(TipChange.id).desc())
        .limit(1)
    ).first()


def good_cuts(session: Session, cutter_id: int) -> dict[Material, list[Cut]]:
    """The cuts of the present tip, oldest first; a struck one no longer counts."""
    tip = newest_tip(session, cutter_id)
    same_tip = (
        col(OvercutSample.tip_change_id).is_(None)
        if tip is None
        else col(OvercutSample.tip_change_id) == tip.id
    )
    cuts: dict[Material, list[Cut]] = defaultdict(list)
    for sample in session.exec(
        select(OvercutSample)
        .outerjoin(OvercutStrike, col(OvercutStrike.overcut_sample_id) == col(OvercutSample.id))
        .where(OvercutSample.cutter_id == cutter_id, same_tip, col(OvercutStrike.id).is_(None))
        .order_by(col(OvercutSample.id))
    ):
        cuts[sample.material].append(Cut(sample.set_size, sample.measured))
    return dict(cuts)


def overcut_by_material(
    session: Session, cutter_id: int, unit: str = "in"
) -> dict[Material, Overcut]:
    """Mean, spread and chart of the present tip in each material that it has cut."""
    return {
        material: overcut(cuts=cuts, unit=unit)
        for material, cuts in good_cuts(session, cutter_id).items()
    }


def overcut_to_use(
    session: Session, cutter_id: int, material: Material, rules: ShopRules, unit: str = "in"
) -> OvercutToUse:
    """What a new setting starts from: the mean of the good cuts, zero without any."""
    return overcut_for_new_setting(
        cuts=good_cuts(session, cutter_id).get(material, []),
        enough_cuts=rules.whole("good_cuts_needed"),
        unit=unit,
    )
