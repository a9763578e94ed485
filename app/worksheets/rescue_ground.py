"""What bounds a larger counterbore: the pocket as it is now, and what stands beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from sqlmodel import Session

from app.calc.materials import HeadMaterial
from app.calc.pocket import MetalLimits, Neighbour, OldPocket
from app.calc.rules import Interference, interference
from app.calc.units import Length
from app.calc.wall import wall_left
from app.calc.wanted_ring import least_bore
from app.workflow.kinds import PassOutcome, Quantity, ReadingKind
from app.workflow.layout import neighbours
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Material, SeatNow, Work
from app.worksheets.facts import HeadSheet, bore_since_cut
from app.worksheets.head_rows import HeadRows, PortRows
from app.worksheets.pockets import bore_now, next_position
from app.worksheets.readings import Readings, load_readings
from app.worksheets.targets import PortTarget

NOTHING = Length(0)
OLD_POCKET = "the old pocket, as read"
IN_CASTING = "the seat in the casting, as read: there is no old floor"
AS_CUT = "the bore as it was cut and gauged here, on this guide"
NOT_GAUGED = "the bore was cut and is not gauged"
WELDED = "welded: nothing of the pocket is known any more"


@dataclass(frozen=True)
class RescueGround:
    """What is known for a larger ring; a None is not known, never "none"."""

    told: str
    pocket: OldPocket
    has_floor: bool  # an old floor is there to be cleaned up
    floor_cut: Length | None  # the floor as it was cut here: it is true, and only to be reached
    neighbours: tuple[Neighbour, ...]
    limits: MetalLimits
    material: HeadMaterial
    protrusion: Length
    window: Interference | None  # chosen for this position over the shop's rule
    inside: Length | None  # the most that a ring may be open
    inside_told: str


@dataclass(frozen=True)
class _Pocket:
    told: str
    pocket: OldPocket
    has_floor: bool
    stock: Length
    floor_clean_up: Length
    floor_cut: Length | None = None


def rescue_ground(
    session: Session,
    sheet: HeadSheet,
    rows: PortRows,
    rules: ShopRules,
    inside: Length | None = None,
) -> RescueGround | None:
    """Everything that bounds a ring at a position; None until the head's material is said.

    `inside` is what a person says a ring may be open at most; else the position's own set says it.
    """
    material = sheet.head.material
    if material is None:
        return None
    least_wall = rules.length(
        "least_wall_aluminium" if material is Material.ALUMINIUM else "least_wall_iron"
    )
    found = _pocket(session, rows, rules, least_wall)
    told = "as typed" if inside is not None else ""
    if inside is None:
        inside, told = _inside(sheet.targets.get(rows.port.id))
    return RescueGround(
        told=found.told,
        pocket=found.pocket,
        has_floor=found.has_floor,
        floor_cut=found.floor_cut,
        neighbours=_beside(sheet.rows, rows, sheet.targets),
        limits=MetalLimits(
            stock=found.stock,
            floor_clean_up=found.floor_clean_up,
            least_wall=least_wall,
            least_web=rules.length("least_web"),
        ),
        material=HeadMaterial(material.value),
        protrusion=rows.port.protrusion or NOTHING,
        window=_window(rows),
        inside=inside,
        inside_told=told,
    )


def _pocket(session: Session, rows: PortRows, rules: ShopRules, least_wall: Length) -> _Pocket:
    """What asks for the larger bore: the pocket as it came, or the bore that was cut since."""
    came = _as_it_came(rows, rules.length("clean_up_stock"), rules.length("floor_clean_up"))
    cut_pass = _last_cut(rows)
    if cut_pass is None:
        return came
    readings = _of_pass(session, rows, cut_pass)
    bores = readings.values(Quantity.BORE) if readings else []
    if not bores:
        unknown = OldPocket(None, None, None, came.pocket.thinnest_wall)
        return _Pocket(NOT_GAUGED, unknown, True, came.stock, came.floor_clean_up)
    assert readings is not None
    floor, floor_clean_up, floor_cut = _floor(
        came, readings.one(Quantity.DEPTH), rules.length("depth_tolerance")
    )
    before = bore_now(rows)
    wall = came.pocket.thinnest_wall
    cut = _Pocket(
        AS_CUT,
        OldPocket(
            bore_max=max(bores),
            # It turned on this guide: what stands off is what the gauge read as out of round.
            run_out=NOTHING,
            deepest_floor=floor,
            thinnest_wall=wall_left(
                wall_now=wall, bore_now=before, bore=max(bores), least=least_wall
            ).left
            if wall is not None and before is not None
            else None,
        ),
        has_floor=True,
        # A bore that was cut true wants no more than a cut that cuts.
        stock=Length.nearest(Fraction(rules.length("least_cut").nm, 2)),
        floor_clean_up=floor_clean_up,
        floor_cut=floor_cut,
    )
    return came if _wants_more(came, cut) else cut


def _floor(
    came: _Pocket, depth: Length | None, within: Length
) -> tuple[Length | None, Length, Length | None]:
    """The floor that a ring must reach and what it must take off it; the cut one where it counts.

    A floor that was cut here is true: a ring is right within the depth's tolerance of it. An old
    floor that lies deeper still asks for its clean-up.
    """
    old = came.pocket.deepest_floor
    if depth is None:
        return old, came.floor_clean_up, None
    reached = depth - within
    if old is not None and old + came.floor_clean_up > reached:
        return old, came.floor_clean_up, None
    return reached, NOTHING, depth


def _as_it_came(rows: PortRows, stock: Length, floor_clean_up: Length) -> _Pocket:
    read = rows.pockets
    wall = read.one(Quantity.WALL) if read else None
    if rows.port.seat_now is SeatNow.WELDED:
        gone = OldPocket(None, None, None, None)
        return _Pocket(WELDED, gone, True, stock, floor_clean_up)
    if rows.port.seat_now is SeatNow.CASTING:
        outside = max(read.values(Quantity.SEAT_OUTSIDE), default=None) if read else None
        seat = OldPocket(outside, NOTHING, None, wall)
        return _Pocket(IN_CASTING, seat, False, stock, floor_clean_up)
    pocket = OldPocket(
        bore_max=max(read.values(Quantity.OLD_BORE), default=None) if read else None,
        run_out=read.one(Quantity.OLD_RUN_OUT) if read else None,
        deepest_floor=max(read.values(Quantity.OLD_DEPTH), default=None) if read else None,
        thinnest_wall=wall,
    )
    return _Pocket(OLD_POCKET, pocket, True, stock, floor_clean_up)


def _wants_more(came: _Pocket, cut: _Pocket) -> bool:
    """The cut has not yet taken all of the pocket away."""
    limits = [MetalLimits(each.stock, NOTHING, NOTHING, NOTHING) for each in (came, cut)]
    of_came = least_bore(pocket=came.pocket, limits=limits[0])
    of_cut = least_bore(pocket=cut.pocket, limits=limits[1])
    return came.has_floor and of_came is not None and of_cut is not None and of_came > of_cut


def _last_cut(rows: PortRows) -> int | None:
    """The newest pass that was cut and not welded up since."""
    was_cut = {cut.port_pass_id for cut in rows.cuts}
    gone = rows.port.seat_now is SeatNow.WELDED
    for port_pass in reversed(rows.passes):
        if port_pass.id in was_cut and not (gone and port_pass.outcome is PassOutcome.GIVEN_UP):
            return port_pass.id
    return None


def _of_pass(session: Session, rows: PortRows, pass_id: int) -> Readings | None:
    if rows.port_pass is not None and rows.port_pass.id == pass_id:
        return bore_since_cut(rows)
    return load_readings(session, ReadingKind.BORE, "port_pass", [pass_id])[pass_id]


def _beside(
    head: HeadRows, rows: PortRows, targets: Mapping[int, PortTarget]
) -> tuple[Neighbour, ...]:
    """Positions beside it that have a counterbore or get one."""
    found = []
    for each in neighbours([port.position for port in head.ports], rows.position):
        beside = next(port for port in head.ports if port.label == each.position.label)
        if beside.port.work is not Work.RING and beside.port.seat_now is SeatNow.CASTING:
            continue
        bore = _bore_beside(beside, targets.get(beside.port.id))
        centres = _centres(head, rows, beside)
        found.append(
            Neighbour(beside.label, bore or NOTHING, centres if bore is not None else None)
        )
    return tuple(found)


def _bore_beside(beside: PortRows, target: PortTarget | None) -> Length | None:
    gauged = bore_since_cut(beside)
    bores = gauged.values(Quantity.BORE) if gauged else []
    if bores:
        return max(bores)
    if target is not None and target.bore_high is not None:
        return target.bore_high
    return None if beside.port.seat_now is SeatNow.CASTING else bore_now(beside)


def _centres(head: HeadRows, rows: PortRows, beside: PortRows) -> Length | None:
    """How far two axes stand apart: it is read at the one that has the other as its next."""
    for one, other in ((rows, beside), (beside, rows)):
        if next_position(head, one) is other and one.pockets is not None:
            read = one.pockets.one(Quantity.CENTRE_DISTANCE)
            if read is not None:
                return read
    return None


def _window(rows: PortRows) -> Interference | None:
    port = rows.port
    if port.rule_least is None or port.rule_aim is None or port.rule_most is None:
        return None
    return interference(least=port.rule_least, aim=port.rule_aim, most=port.rule_most)


def _inside(target: PortTarget | None) -> tuple[Length | None, str]:
    """A ring may be open as far as those that were got for the position."""
    working = target.set_working if target else None
    if working is None:
        return None, ""
    if working.inside is not None:
        return working.inside, "the inside of its ring set, as read"
    if working.ring_set.label_inside is not None:
        return working.ring_set.label_inside, "the inside of its ring set, as the box says"
    return None, ""
