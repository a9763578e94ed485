"""The shop's rules as they hold now."""

from __future__ import annotations

from functools import cache
from typing import Any

from sqlmodel import Session, col, func, select

from app.models.shop import ShopRule
from app.workflow.shop_rules import ShopRules


def current_rules(session: Session) -> ShopRules:
    """Every rule as it holds now, in one statement."""
    return ShopRules({key: (value, source) for key, value, source in session.exec(_held())})


@cache
def _held() -> Any:
    # Built once: every page and write asks for it.
    newest = select(func.max(col(ShopRule.id))).group_by(col(ShopRule.key))
    return select(ShopRule.key, ShopRule.value, ShopRule.source).where(col(ShopRule.id).in_(newest))
