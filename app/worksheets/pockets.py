"""What an old pocket says of the counterbore to come: clean-up, wall and web."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.calc.cleanup import CleanUp, clean_up
from app.calc.units import Length
from app.calc.wall import MetalLeft, wall_left, web_left
from app.workflow.kinds import Quantity
from app.workflow.layout import Side, neighbours
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Material, SeatNow
from app.worksheets.head_rows import HeadRows, PortRows
from app.worksheets.targets import PortTarget


@dataclass(frozen=True)
class PocketFindings:
    """Each is None while something that it needs was not read."""

    clean_up: CleanUp | None = None
    wall: MetalLeft | None = None
    web: MetalLeft | None = None
    # The readings under each, so that a strike finds what was accepted on them.
    under_clean_up: tuple[int, ...] = ()
    under_metal: tuple[int, ...] = ()

    def told(self, unit: str) -> str:
        """As it stands: ``cleans up, .0035 to spare; wall .1200 left``."""
        cleaned = self.clean_up
        if cleaned is None or not cleaned.cleans_up:
            return self.remarks(unit)
        spare = f"cleans up, {cleaned.spare.shown(unit)} to spare"
        return "; ".join(filter(None, [spare, self.remarks(unit)]))

    def remarks(self, unit: str) -> str:
        """What is to be looked at: ``does not clean up; wall .0800 left, least .1000``."""
        cleaned = self.clean_up
        parts = [] if cleaned is None or cleaned.cleans_up else ["does not clean up"]
        for name, metal in (("wall", self.wall), ("web", self.web)):
            if metal is not None and metal.left is not None:
                short = "" if metal.is_enough else f", least {metal.least.shown(unit)}"
                parts.append(f"{name} {metal.left.shown(unit)} left{short}")
        return "; ".join(parts)


def pocket_findings(
    head: HeadRows, rows: PortRows, targets: Mapping[int, PortTarget], rules: ShopRules
) -> PocketFindings:
    """By the ring that is to go in: cleaned up at its least bore, metal left at its largest."""
    target = targets.get(rows.port.id)
    if target is None or target.bore_low is None or target.bore_high is None:
        return PocketFindings()
    unit = head.job.job.unit.value
    beside = next_position(head, rows)
    return PocketFindings(
        clean_up=_clean_up(rows, target.bore_low, rules, unit),
        wall=_wall(head, rows, target.bore_high, rules, unit),
        web=_web(head, rows, targets, target.bore_high, rules, unit),
        under_clean_up=_ids(rows, Quantity.OLD_BORE, Quantity.OLD_RUN_OUT),
        under_metal=(
            *_ids(
                rows,
                Quantity.WALL,
                Quantity.CENTRE_DISTANCE,
                Quantity.OLD_BORE,
                Quantity.SEAT_OUTSIDE,
            ),
            *(_ids(beside, Quantity.OLD_BORE, Quantity.SEAT_OUTSIDE) if beside else ()),
        ),
    )


def _ids(rows: PortRows, *quantities: Quantity) -> tuple[int, ...]:
    if rows.pockets is None:
        return ()
    return tuple(kept.id for quantity in quantities for kept in rows.pockets.of(quantity))


def _clean_up(rows: PortRows, bore: Length, rules: ShopRules, unit: str) -> CleanUp | None:
    if rows.pockets is None or rows.port.seat_now is SeatNow.CASTING:
        return None
    old, run_out = (
        rows.pockets.values(Quantity.OLD_BORE),
        rows.pockets.one(Quantity.OLD_RUN_OUT),
    )
    if not old or run_out is None:
        return None
    return clean_up(
        target_bore=bore,
        old_bore_max=max(old),
        old_run_out=run_out,
        stock=rules.length("clean_up_stock"),
        unit=unit,
    )


def _wall(
    head: HeadRows, rows: PortRows, bore: Length, rules: ShopRules, unit: str
) -> MetalLeft | None:
    wall = rows.pockets.one(Quantity.WALL) if rows.pockets else None
    now = bore_now(rows)
    if wall is None or now is None or head.head.material is None:
        return None
    soft = head.head.material is Material.ALUMINIUM
    return wall_left(
        wall_now=wall,
        bore_now=now,
        bore=bore,
        least=rules.length("least_wall_aluminium" if soft else "least_wall_iron"),
        unit=unit,
    )


def _web(
    head: HeadRows,
    rows: PortRows,
    targets: Mapping[int, PortTarget],
    bore: Length,
    rules: ShopRules,
    unit: str,
) -> MetalLeft | None:
    centres = rows.pockets.one(Quantity.CENTRE_DISTANCE) if rows.pockets else None
    beside = next_position(head, rows)
    if centres is None or beside is None:
        return None
    target = targets.get(beside.port.id)
    other = target.bore_high if target and target.bore_high else bore_now(beside)
    if other is None:
        return None
    return web_left(
        centre_distance=centres,
        bore=bore,
        neighbour_bore=other,
        least=rules.length("least_web"),
        unit=unit,
    )


def next_position(head: HeadRows, rows: PortRows) -> PortRows | None:
    """The one that the centre distance is read to: the next along the head, at its end the last."""
    order = {Side.RIGHT: 0, Side.LEFT: 1}
    along = [
        each
        for each in neighbours([port.position for port in head.ports], rows.position)
        if each.side in order
    ]
    if not along:
        return None
    beside = min(along, key=lambda each: order[each.side])
    return next(port for port in head.ports if port.label == beside.position.label)


def bore_now(rows: PortRows) -> Length | None:
    """The widest that was read of a pocket, or of the old seat's outside, before it is cut."""
    if rows.pockets is None:
        return None
    outside = rows.pockets.values(Quantity.SEAT_OUTSIDE)
    return max([*rows.pockets.values(Quantity.OLD_BORE), *outside], default=None)
