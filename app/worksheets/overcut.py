"""What a cutter's tip has cut so far, by head material: signed bores that still count."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sqlalchemy import ColumnElement
from sqlalchemy import select as select_columns
from sqlmodel import Session, and_, col, func, or_, select

from app.calc.overcut import Cut, Overcut, OvercutToUse, overcut, overcut_for_new_setting
from app.calc.overcut_signs import OvercutSigns, overcut_signs
from app.models.crib import TipChange
from app.models.port_pass import OvercutSample, OvercutStrike
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Material

_COLUMNS = (
    col(OvercutSample.cutter_id),
    col(OvercutSample.tip_change_id),
    col(OvercutSample.material),
    col(OvercutSample.set_size),
    col(OvercutSample.measured),
)


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
    return good_cuts_of(session, {cutter_id: tip.id if tip else None})[cutter_id]


def good_cuts_of(
    session: Session, tips: Mapping[int, int | None], among_newest: int | None = None
) -> dict[int, dict[Material, list[Cut]]]:
    """The same for many cutters, given the tip that is in each now; one statement.

    They stand in the order they were cut, which is not that of the signatures. `among_newest` looks
    at so many newest signed bores of the shop only: what a page of exceptions can afford, however
    old the shop is.
    """
    found: dict[int, dict[Material, list[Cut]]] = {cutter_id: {} for cutter_id in tips}
    changed = [tip_id for tip_id in tips.values() if tip_id is not None]
    never = [cutter_id for cutter_id, tip_id in tips.items() if tip_id is None]
    # By the tips alone, which few cuts are of: a cutter has all that it ever made.
    own: ColumnElement[bool] = col(OvercutSample.tip_change_id).in_(changed)
    if never:
        since_it_came = col(OvercutSample.tip_change_id).is_(None)
        own = or_(own, and_(since_it_came, col(OvercutSample.cutter_id).in_(never)))
    # Columns, not rows: a page that looks at every cutter reads hundreds.
    wanted = (
        select_columns(*_COLUMNS)
        .outerjoin(OvercutStrike, col(OvercutStrike.overcut_sample_id) == col(OvercutSample.id))
        .where(own, col(OvercutStrike.id).is_(None))
        .order_by(col(OvercutSample.cut_id))
    )
    if among_newest is not None:
        newest = func.coalesce(func.max(col(OvercutSample.id)), 0)
        wanted = wanted.where(
            col(OvercutSample.id) > select(newest - among_newest).scalar_subquery()
        )
    for cutter_id, tip_id, material, set_size, measured in session.execute(wanted):
        if tip_id == tips[cutter_id]:
            found[cutter_id].setdefault(material, []).append(Cut(set_size, measured))
    return found


def cuts_of(samples: Sequence[OvercutSample]) -> list[Cut]:
    """Rows as the calculations take them."""
    return [Cut(one.set_size, one.measured) for one in samples]


def overcut_by_material(
    cuts: Mapping[Material, Sequence[Cut]], unit: str = "in"
) -> dict[Material, Overcut]:
    """Mean, spread and chart of one tip in each material that it has cut."""
    return {material: overcut(cuts=own, unit=unit) for material, own in cuts.items()}


def signs_by_material(
    cuts: Mapping[Material, Sequence[Cut]], rules: ShopRules, unit: str = "in"
) -> dict[Material, OvercutSigns]:
    """What of one tip's cuts is more than scatter, in each material."""
    return {material: signs_of(own, rules, unit=unit) for material, own in cuts.items()}


def signs_of(cuts: Sequence[Cut], rules: ShopRules, unit: str = "in") -> OvercutSigns:
    """The same of some cuts: what the shop leaves alone is its own rule."""
    return overcut_signs(cuts=cuts, dead_band=rules.length("correction_dead_band"), unit=unit)


def overcut_to_use(
    session: Session, cutter_id: int, material: Material, rules: ShopRules, unit: str = "in"
) -> OvercutToUse:
    """What a new setting starts from: the mean of the good cuts, zero without any."""
    return overcut_for_new_setting(
        cuts=good_cuts(session, cutter_id).get(material, []),
        enough_cuts=rules.whole("good_cuts_needed"),
        unit=unit,
    )
