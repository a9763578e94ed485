"""Where a seat meets its valve's face, held against where it is wanted."""

from __future__ import annotations

from app.calc.errors import ImpossibleError
from app.calc.seat import inner_of_width
from app.calc.seat_valve import ValveContact, valve_contact
from app.calc.units import Length
from app.models.seat_plan import SeatPlan
from app.workflow.kinds import Quantity
from app.worksheets.head_rows import PortRows


def wanted_contact(plan: SeatPlan | None, unit: str) -> ValveContact | None:
    """By what is wanted of the seats of a kind, where land, valve head and face are all said."""
    if (
        plan is None
        or plan.outer_wanted is None
        or plan.width_wanted is None
        or plan.valve_head is None
        or plan.valve_angle_deg is None
    ):
        return None
    angle = plan.seat_angle_deg
    try:
        return valve_contact(
            outer=plan.outer_wanted,
            inner=inner_of_width(outer=plan.outer_wanted, width=plan.width_wanted, angle_deg=angle),
            seat_angle_deg=angle,
            face_outer=plan.valve_head,
            face_angle_deg=plan.valve_angle_deg,
            unit=unit,
        )
    except ImpossibleError:
        return None


def contact_words(rows: PortRows, wanted: ValveContact | None, unit: str) -> tuple[str, ...]:
    """How width and place differ from what is wanted; nothing where one of them is not known."""
    if wanted is None or rows.valves is None:
        return ()
    width = rows.valves.one(Quantity.CONTACT_WIDTH)
    clear = rows.valves.one(Quantity.CONTACT_FROM_EDGE)
    return (
        *_differs(width, wanted.width, ("wider", "narrower"), unit),
        *_differs(clear, wanted.clear_outside, ("further from the edge", "nearer the edge"), unit),
    )


def contact_asks(rows: PortRows) -> list[str]:
    """A contact is no wider than its land."""
    width = rows.valves.one(Quantity.CONTACT_WIDTH) if rows.valves else None
    land = rows.finish.one(Quantity.SEAT_WIDTH) if rows.finish else None
    if width is None or land is None or width <= land:
        return []
    return ["contact wider than its seat: read both again"]


def _differs(
    read: Length | None, wanted: Length, ways: tuple[str, str], unit: str
) -> tuple[str, ...]:
    if read is None:
        return ()
    apart = read - wanted
    shown = Length(abs(apart.nm)).shown(unit)
    if not shown.strip("0."):
        return ()
    return (f"{shown} {ways[0] if apart.nm > 0 else ways[1]} than wanted",)
