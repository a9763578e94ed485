"""Interference rules of the shop: a new version of a band, or none of its own any more."""

from __future__ import annotations

from typing import Any

from sqlmodel import col, select

from app.calc.units import Length
from app.models.head import Head, Port
from app.models.port_pass import Cut, PortPass
from app.models.shop import InterferenceRule
from app.services.stale import unsettle_port
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.kinds import ResultKind
from app.workflow.stale import Change
from app.workflow.words import Material
from app.worksheets.interference import rule_for

_WINDOW = ("material", "od_from", "od_below", "least", "aim", "most")


@use_case
def set_interference_rule(
    tx: Write,
    *,
    material: Material,
    od_from: Length,
    od_below: Length | None,
    least: Length,
    aim: Length,
    most: Length,
    source: str,
) -> InterferenceRule:
    """Set the window of a head material and a band of ring sizes.

    A bore that is cut keeps the window that it was cut by; targets that wait for the cutter and
    were worked by another window of this band no longer stand.
    """
    if not least <= aim <= most:
        raise Refused("Least, aim and most must rise.", "aim")
    if od_below is not None and od_from >= od_below:
        raise Refused("The band must end above where it starts.", "od_below")
    row = tx.add(
        InterferenceRule(
            by_id=tx.by_id,
            at=tx.at,
            material=material,
            od_from=od_from,
            od_below=od_below,
            least=least,
            aim=aim,
            most=most,
            source=source,
        )
    )
    unsettled = _unsettle_waiting(tx, row)
    tx.log("set an interference rule", row, unsettled=unsettled, **_figures(row))
    return row


@use_case
def retire_interference_rule(tx: Write, rule_id: int, source: str) -> InterferenceRule:
    """Withdraw the shop's rule for a band, so that a default or a wider band holds again."""
    rule = tx.session.get(InterferenceRule, rule_id)
    if rule is None:
        raise NotFound("There is no such interference rule.")
    if not source.strip():
        raise Refused("Say why it goes.", "source")
    row = tx.add(
        InterferenceRule(
            by_id=tx.by_id,
            at=tx.at,
            source=source.strip()[:200],
            retired=True,
            **{name: getattr(rule, name) for name in _WINDOW},
        )
    )
    unsettled = _unsettle_waiting(tx, row)
    tx.log("retired an interference rule", row, unsettled=unsettled, **_figures(row))
    return row


def _unsettle_waiting(tx: Write, row: InterferenceRule) -> list[int]:
    """The targets of uncut bores that another window would be worked by now."""
    waiting = tx.session.exec(
        select(PortPass)
        .join(Port, col(Port.id) == col(PortPass.port_id))
        .join(Head, col(Head.id) == col(Port.head_id))
        .outerjoin(Cut, col(Cut.port_pass_id) == col(PortPass.id))
        .where(
            Head.material == row.material,
            col(Port.rule_least).is_(None),
            col(PortPass.closed_at).is_(None),
            col(Cut.id).is_(None),
        )
    ).all()
    unsettled: list[int] = []
    for waits in waiting:
        od = waits.target_bore + waits.rule_aim
        if od < row.od_from or (row.od_below is not None and od >= row.od_below):
            continue
        holds_now = rule_for(tx.session, row.material, od)
        if (waits.rule_least, waits.rule_aim, waits.rule_most) != holds_now[:3]:
            unsettled += unsettle_port(
                tx,
                waits.port_id,
                [ResultKind.TARGET, ResultKind.SETTING],
                f"the interference rule was changed: {holds_now.source}",
                Change.RULE_CHANGED,
            )
    return unsettled


def _figures(row: InterferenceRule) -> dict[str, Any]:
    return {
        "material": row.material.value,
        "od_from_nm": row.od_from.nm,
        "od_below_nm": row.od_below.nm if row.od_below else None,
        "least_nm": row.least.nm,
        "aim_nm": row.aim.nm,
        "most_nm": row.most.nm,
    }
