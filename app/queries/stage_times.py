"""The shop's own minutes: the newest times on record, or the marked defaults."""

from __future__ import annotations

from collections.abc import Mapping

from sqlmodel import Session, col, select

from app.models.port_pass import StageTime
from app.workflow.planning import Rate, Timed, rates
from app.workflow.shop_rules import RULES, ShopRules
from app.workflow.words import WorkStage

# Signatures back: a shop gets quicker, and its old heads say little of today.
MOST_COUNTED = 60


def rates_now(session: Session, rules: ShopRules) -> Mapping[WorkStage, Rate]:
    """Minutes a position takes at each stage."""
    timed = []
    for stage in WorkStage:
        rows = session.exec(
            select(StageTime.positions, StageTime.seconds)
            .where(StageTime.stage == stage)
            .order_by(col(StageTime.id).desc())
            .limit(MOST_COUNTED)
        )
        timed += [Timed(stage, positions, seconds) for positions, seconds in rows]
    defaults = {
        stage: (rules.number(key), _source(rules, key))
        for stage, key in ((each, f"minutes_{each.value}") for each in WorkStage)
    }
    return rates(timed, defaults, rules.whole("planned_from"))


def _source(rules: ShopRules, key: str) -> str:
    return RULES[key].mark.value if rules.is_default(key) else f"shop rule: {rules.source(key)}"
