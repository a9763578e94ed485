"""The shop's rules as they hold now, and what they were before."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, func, select

from app.models.person import Person
from app.models.shop import ShopRule
from app.workflow.shop_rules import RULES, Definition, RuleGroup, ShopRules, shown_rule
from app.worksheets.shop_rules import current_rules

__all__ = ["RuleLine", "RuleVersion", "ShopRules", "current_rules", "rule_history", "rule_lines"]


@dataclass(frozen=True, slots=True)
class RuleLine:
    """One rule on the rules page; `by` is None while the default holds."""

    rule: Definition
    value: str
    shown: str
    source: str
    by: str | None
    at: datetime | None


@dataclass(frozen=True, slots=True)
class RuleVersion:
    """One value that a rule had."""

    id: int
    shown: str
    source: str
    by: str
    at: datetime


def rule_lines(session: Session) -> dict[RuleGroup, list[RuleLine]]:
    """The rules under their headings, each with who set it and when."""
    newest = select(func.max(col(ShopRule.id))).group_by(col(ShopRule.key))
    held = {
        row.key: (row, name)
        for row, name in session.exec(
            select(ShopRule, Person.name)
            .join(Person, col(Person.id) == col(ShopRule.by_id))
            .where(col(ShopRule.id).in_(newest))
        )
    }
    lines: dict[RuleGroup, list[RuleLine]] = {group: [] for group in RuleGroup}
    for rule in RULES.values():
        row, name = held.get(rule.key, (None, None))
        value = rule.default if row is None else row.value
        lines[rule.group].append(
            RuleLine(
                rule=rule,
                value=value,
                shown=shown_rule(rule, value),
                source=rule.cited if row is None else row.source,
                by=name,
                at=None if row is None else row.at,
            )
        )
    return lines


def rule_history(session: Session, key: str) -> list[RuleVersion]:
    """What the shop set this rule to, newest first; the default is not among them."""
    return [
        RuleVersion(row.id, shown_rule(RULES[key], row.value), row.source, name, row.at)
        for row, name in session.exec(
            select(ShopRule, Person.name)
            .join(Person, col(Person.id) == col(ShopRule.by_id))
            .where(ShopRule.key == key)
            .order_by(col(ShopRule.id).desc())
        )
    ]
