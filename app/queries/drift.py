"""Which cutters drift: for the owner's exceptions, and in one line for the bench."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session, col, func, select

from app.calc.overcut import Cut, Overcut, overcut
from app.models.crib import Cutter, TipChange
from app.queries.crib import in_use
from app.workflow.overcut_advice import TipState, look_here, tip_state
from app.workflow.words import Material
from app.worksheets.overcut import (
    good_cuts,
    good_cuts_of,
    signs_by_material,
    signs_of,
)
from app.worksheets.shop_rules import current_rules

# More than any tip in use lives through, and read without an index over time.
AMONG_NEWEST = 2000


@dataclass(frozen=True, slots=True)
class DriftLine:
    """A cutter whose cuts are more than scatter since its tip was last seen to."""

    cutter: Cutter
    material: Material
    state: TipState
    sign: str  # in a few words
    count: int


@dataclass(frozen=True, slots=True)
class OvercutLine:
    """One line for the bench: what this tip cuts in this material, and how it stands."""

    cutter_id: int
    material: Material
    learned: Overcut | None
    state: TipState
    sign: str


def drifting(session: Session) -> list[DriftLine]:
    """Cutters in use with a sign that stands and is larger than the shop leaves alone.

    Bounded by the newest signed bores of the shop, whatever its age.
    """
    cutters = in_use(session, Cutter)
    rules = current_rules(session)
    cuts = cuts_of_tips_in(session, cutters)
    lines = []
    for cutter in cutters:
        for material, signs in signs_by_material(cuts[cutter.id], rules).items():
            state = tip_state(signs)
            if state.wants_a_look:
                lines.append(DriftLine(cutter, material, state, look_here(signs), signs.count))
    return lines


def cuts_of_tips_in(
    session: Session, cutters: Sequence[Cutter]
) -> dict[int, dict[Material, list[Cut]]]:
    """The good cuts of the tip that is in each cutter now, by cutter and head material."""
    newest = dict(
        session.exec(
            select(TipChange.cutter_id, func.max(col(TipChange.id)))
            .where(col(TipChange.cutter_id).in_([cutter.id for cutter in cutters]))
            .group_by(col(TipChange.cutter_id))
        ).all()
    )
    return good_cuts_of(
        session, {cutter.id: newest.get(cutter.id) for cutter in cutters}, AMONG_NEWEST
    )


def overcut_line(
    session: Session, cutter_id: int, material: Material | None, unit: str
) -> OvercutLine | None:
    """The tip in the cutter now, in this material; none while the material is not known."""
    if material is None:
        return None
    cuts = good_cuts(session, cutter_id).get(material, [])
    signs = signs_of(cuts, current_rules(session), unit)
    return OvercutLine(
        cutter_id=cutter_id,
        material=material,
        learned=overcut(cuts=cuts, unit=unit) if cuts else None,
        state=tip_state(signs),
        sign=look_here(signs),
    )
