"""An expansion changed: what was worked with it at another temperature no longer stands.

What is signed keeps the figure that it was signed with; only passes under way are looked at.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any

from sqlmodel import col, select

from app.calc.materials import REFERENCE_C
from app.models.head import Head, Port
from app.models.job import Job
from app.models.port_pass import PortPass
from app.models.result import Result
from app.models.ring import RingSet
from app.services.stages import refresh_stages
from app.services.stale import unsettle_results
from app.services.write import Write
from app.workflow.kinds import ResultKind
from app.workflow.stale import Change
from app.worksheets.ring_sets import load_sets
from app.worksheets.shop_rules import current_rules


def ring_sizes(tx: Write, ring_sets: Iterable[RingSet]) -> dict[int, Fraction]:
    """The OD at 20 °C of every ring of these sets that can be worked, by ring id."""
    found = load_sets(tx.session, list(ring_sets), current_rules(tx.session))
    return {
        row.ring.id: row.measured.od_nm
        for working in found.values()
        for row in working.good
        if row.measured
    }


def unsettle_rings(
    tx: Write, ring_sets: Iterable[RingSet], before: Mapping[int, Fraction], because: str
) -> list[int]:
    """Targets and verdicts of rings that another expansion makes another size.

    `before` is what `ring_sizes` gave before the change; rings read at 20 °C come out alike.
    """
    sets = list(ring_sets)
    after = ring_sizes(tx, sets)
    other = {ring_id for ring_id, od in after.items() if before.get(ring_id) != od}
    ports = tx.session.exec(
        select(Port).where(col(Port.ring_set_id).in_([each.id for each in sets]))
    ).all()
    moved = {port.id for port in ports if other and (port.ring_id is None or port.ring_id in other)}
    results = _under_way(
        tx, [port.id for port in ports], (ResultKind.TARGET, ResultKind.VERIFICATION)
    )
    return _unsettle(
        tx,
        [each for each, port_id in results if port_id in moved or _doubt_rests_on_expansion(each)],
        because,
        Change.RING_EXPANSION_CHANGED,
    )


def unsettle_heads(tx: Write, heads: Iterable[Head], because: str) -> list[int]:
    """Verdicts on bores of these heads that were taken to 20 °C by the head's expansion."""
    ports = tx.session.exec(
        select(Port.id).where(col(Port.head_id).in_([head.id for head in heads]))
    ).all()
    results = [each for each, _ in _under_way(tx, ports, (ResultKind.VERIFICATION,))]
    used = [each for each in results if _was_warm(each) or _doubt_rests_on_expansion(each)]
    return _unsettle(tx, used, because, Change.HEAD_EXPANSION_CHANGED)


def unsettle_family(tx: Write, head: Head, because: str) -> list[int]:
    """Targets and verdicts of a head of another family, where no rule of its own was chosen."""
    ports = tx.session.exec(
        select(Port.id).where(Port.head_id == head.id, col(Port.rule_least).is_(None))
    ).all()
    kinds = (ResultKind.TARGET, ResultKind.VERIFICATION)
    results = [each for each, _ in _under_way(tx, ports, kinds)]
    return _unsettle(tx, results, because, Change.RULE_CHANGED)


def _under_way(
    tx: Write, port_ids: Iterable[int], kinds: Iterable[ResultKind]
) -> list[tuple[Result, int]]:
    """Accepted results of passes that are not closed, in jobs that are not over."""
    return list(
        tx.session.exec(
            select(Result, PortPass.port_id)
            .join(PortPass, col(PortPass.id) == col(Result.port_pass_id))
            .join(Port, col(Port.id) == col(PortPass.port_id))
            .join(Head, col(Head.id) == col(Port.head_id))
            .join(Job, col(Job.id) == col(Head.job_id))
            .where(
                col(PortPass.port_id).in_(list(port_ids)),
                col(PortPass.closed_at).is_(None),
                col(Job.ended_at).is_(None),
                col(Job.voided_at).is_(None),
                col(Result.kind).in_(list(kinds)),
            )
            .order_by(col(Result.id))
        )
    )


def _unsettle(tx: Write, results: list[Result], because: str, change: Change) -> list[int]:
    marked = unsettle_results(tx, results, because, change)
    if not marked:
        return []
    passes = {each.port_pass_id for each in results}
    heads = tx.session.exec(
        select(Head)
        .join(Port, col(Port.head_id) == col(Head.id))
        .join(PortPass, col(PortPass.port_id) == col(Port.id))
        .where(col(PortPass.id).in_(passes))
        .distinct()
    ).all()
    for head in heads:
        refresh_stages(tx, head)
    return marked


def _was_warm(result: Result) -> bool:
    return bool(_inputs(result).get("bore_temperature_c", REFERENCE_C) != REFERENCE_C)


def _doubt_rests_on_expansion(result: Result) -> bool:
    """Its ± holds what temperatures that are not quite known do, by the expansions."""
    doubt = _inputs(result).get("temperature_uncertainty") or {}
    return bool(doubt.get("nm", 0))


def _inputs(result: Result) -> dict[str, Any]:
    inputs: dict[str, Any] = json.loads(result.record).get("inputs") or {}
    return inputs
