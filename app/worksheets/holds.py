"""What is known of a position on hold: the ground on which its ways out are worked."""

from __future__ import annotations

from sqlmodel import Session, col, select

from app.calc.units import Length, mean_nm
from app.models.head import Port
from app.models.ring import RingSet
from app.workflow.kinds import HoldReason, Quantity
from app.workflow.layout import neighbours
from app.workflow.shop_rules import ShopRules
from app.workflow.verdicts import fit_sum
from app.workflow.ways_out import HoldSituation, RingChoice, WayOut, ways_out
from app.workflow.words import Material, Work
from app.worksheets.facts import HeadSheet, bore_since_cut
from app.worksheets.head_rows import PortRows
from app.worksheets.ring_sets import RingRow, load_sets
from app.worksheets.targets import PortTarget
from app.worksheets.verifications import depth_wanted


def situation(
    session: Session, sheet: HeadSheet, rows: PortRows, rules: ShopRules
) -> HoldSituation:
    """A hold with the bore as it is now, its ring, the free rings, and what is beside it."""
    target = sheet.targets.get(rows.port.id)
    port_pass = rows.port_pass
    readings = bore_since_cut(rows)
    unit = sheet.rows.job.job.unit
    facts = sheet.facts.port(rows.label)
    bores = readings.values(Quantity.BORE) if readings else []
    return HoldSituation(
        reason=rows.hold.reason if rows.hold else HoldReason.STOPPED,
        unit=unit,
        bore=_mean(bores),
        ring_od=_ring_od(target),
        least=port_pass.rule_least if port_pass else None,
        aim=port_pass.rule_aim if port_pass else None,
        most=port_pass.rule_most if port_pass else None,
        depth=readings.one(Quantity.DEPTH) if readings else None,
        depth_wanted=depth_wanted(session, rows),
        set_rings=_other_rings(session, rows, target),
        shelf_rings=_shelf_rings(session, rules),
        wall=facts.wall.told if facts.wall.is_closed_by_value else "",
        web=facts.web.told if facts.web.is_closed_by_value else "",
        beside=tuple(
            each.position.label
            for each in neighbours(sheet.facts.positions, rows.position)
            if sheet.facts.port(each.position.label).work is Work.RING
        ),
        ring_is_in=rows.ring_in is not None,
        is_aluminium=sheet.head.material is Material.ALUMINIUM,
        least_cut=rules.length("least_cut"),
    )


def ways_of(
    session: Session, sheet: HeadSheet, rows: PortRows, rules: ShopRules
) -> tuple[WayOut, ...]:
    """The ways out of a hold, side by side."""
    return ways_out(situation(session, sheet, rows, rules))


def deviation_value(ground: HoldSituation) -> str:
    """What a deviation is, as far as it is measured."""
    unit = ground.unit.value
    if ground.reason in (HoldReason.DEEP, HoldReason.SHALLOW) and ground.depth is not None:
        return f"depth {ground.depth.shown(unit)}"
    if ground.ring_od is None or ground.bore is None:
        return ground.reason.screen
    window = [limit for limit in (ground.least, ground.most) if limit is not None]
    return f"interference {fit_sum(ground.ring_od, ground.bore, ground.unit, window).total}"


def deviation_limit(ground: HoldSituation) -> str:
    """What it is a deviation from."""
    unit = ground.unit.value
    if ground.reason in (HoldReason.DEEP, HoldReason.SHALLOW) and ground.depth_wanted is not None:
        return f"wanted {ground.depth_wanted.shown(unit)}"
    if ground.least is None or ground.most is None:
        return "none stated"
    return f"{ground.least.shown(unit)} to {ground.most.shown(unit)}"


def _mean(values: list[Length]) -> Length | None:
    if not values:
        return None
    return Length.nearest(mean_nm(values))


def _ring_od(target: PortTarget | None) -> Length | None:
    ods = [row.measured.od for row in target.rings if row.measured] if target else []
    return _mean(ods)


def _other_rings(
    session: Session, rows: PortRows, target: PortTarget | None
) -> tuple[RingChoice, ...]:
    """Rings of its set that no other position has chosen."""
    if target is None or target.set_working is None or rows.port_pass is None:
        return ()
    taken = set(
        session.exec(
            select(Port.ring_id).where(
                col(Port.ring_id).is_not(None),
                Port.ring_set_id == rows.port_pass.ring_set_id,
                Port.id != rows.port.id,
            )
        ).all()
    )
    own = rows.port_pass.ring_id
    return tuple(
        _choice(row)
        for row in target.set_working.rows
        if row.ring.id not in taken and row.ring.id != own
    )


def _shelf_rings(session: Session, rules: ShopRules) -> tuple[RingChoice, ...]:
    sets = session.exec(select(RingSet).where(col(RingSet.job_id).is_(None))).all()
    if not sets:
        return ()
    return tuple(
        RingChoice(
            f"{working.ring_set.name or working.ring_set.part or 'set'} {row.tag}",
            row.measured.od if row.measured else None,
            row.measured.height if row.measured else None,
        )
        for working in load_sets(session, sets, rules).values()
        for row in working.rows
    )


def _choice(row: RingRow) -> RingChoice:
    return RingChoice(
        row.tag,
        row.measured.od if row.measured else None,
        row.measured.height if row.measured else None,
    )
