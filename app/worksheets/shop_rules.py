"""The shop's rules as they hold now."""

from __future__ import annotations

from sqlmodel import Session, col, func, select

from app.models.shop import ShopRule
from app.workflow.shop_rules import ShopRules


def current_rules(session: Session) -> ShopRules:
    """Every rule as it holds now, in one statement."""
    newest = select(func.max(col(ShopRule.id))).group_by(col(ShopRule.key))
    held = session.exec(
        select(ShopRule.key, ShopRule.value, ShopRule.source).where(col(ShopRule.id).in_(newest))
    )
    return ShopRules({key: (value, source) for key, value, source in held})
