"""What the seats of a head are to be: the newest plan of each kind, else the shop's angles."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlmodel import Session, col, func, select

from app.models.seat_plan import SeatPlan
from app.workflow.kinds import Unit
from app.workflow.seats import WidthWindow, seat_words, size_words
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Kind

_NAMES = {Kind.INTAKE: "intake", Kind.EXHAUST: "exhaust"}


@dataclass(frozen=True, slots=True)
class SeatAngles:
    """Angles that hold for a kind: as planned, or by the shop's rules, with their sources."""

    seat: float
    top: float
    throat: float
    seat_source: str
    top_source: str
    throat_source: str


def newest_plans(session: Session, head_ids: Iterable[int]) -> dict[int, dict[Kind, SeatPlan]]:
    """The plans that hold on these heads, by head and kind, in one statement."""
    wanted = list(head_ids)
    newest = (
        select(func.max(col(SeatPlan.id)))
        .where(col(SeatPlan.head_id).in_(wanted))
        .group_by(col(SeatPlan.head_id), col(SeatPlan.kind))
    )
    found: dict[int, dict[Kind, SeatPlan]] = {head_id: {} for head_id in wanted}
    for row in session.exec(select(SeatPlan).where(col(SeatPlan.id).in_(newest))):
        found[row.head_id][row.kind] = row
    return found


def angles_of(kind: Kind, plan: SeatPlan | None, rules: ShopRules) -> SeatAngles:
    """The angles to start from."""
    if plan is not None:
        source = plan.source
        return SeatAngles(
            plan.seat_angle_deg,
            plan.top_angle_deg,
            plan.throat_angle_deg,
            source,
            source,
            source,
        )
    keys = (f"seat_angle_{_NAMES[kind]}", "seat_top_angle", "seat_throat_angle")
    seat, top, throat = (rules.number(key) for key in keys)
    return SeatAngles(seat, top, throat, *(rules.source(key) for key in keys))


def width_window(kind: Kind, rules: ShopRules) -> WidthWindow:
    """The shop's widths for a kind."""
    least, most = (f"seat_width_{_NAMES[kind]}_{end}" for end in ("least", "most"))
    sources = list(dict.fromkeys([rules.source(least), rules.source(most)]))
    return WidthWindow(rules.length(least), rules.length(most), "; ".join(sources))


def width_windows(rules: ShopRules) -> dict[Kind, WidthWindow]:
    """The shop's widths, intake and exhaust."""
    return {kind: width_window(kind, rules) for kind in Kind}


def plan_words(plan: SeatPlan, unit: Unit) -> str:
    """``exhaust: 45°, top 30°, throat 60°, land .070 wide, outer edge 1.480``."""
    return seat_words(
        kind=plan.kind,
        seat_angle_deg=plan.seat_angle_deg,
        top_angle_deg=plan.top_angle_deg,
        throat_angle_deg=plan.throat_angle_deg,
        width=plan.width_wanted,
        outer=plan.outer_wanted,
        unit=unit,
    )


def seats_told(
    kinds: Iterable[Kind], plans: dict[Kind, SeatPlan], rules: ShopRules, unit: Unit
) -> list[tuple[str, str]]:
    """One line for each kind: what is wanted, and who says so; the maker's figures win."""
    lines = []
    for kind in kinds:
        plan = plans.get(kind)
        if plan is not None:
            lines.append((plan_words(plan, unit), plan.source))
            continue
        angles = angles_of(kind, None, rules)
        words = seat_words(
            kind=kind,
            seat_angle_deg=angles.seat,
            top_angle_deg=angles.top,
            throat_angle_deg=angles.throat,
            width=None,
            outer=None,
            unit=unit,
        )
        window = width_window(kind, rules)
        least, most = (size_words(end, unit) for end in (window.least, window.most))
        lines.append((words, f"the shop's angles; its widths are {least} to {most}"))
    return lines
