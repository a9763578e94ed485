"""How warm the shop is, and when anyone read it last."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from app.models.shop import ShopRule
from app.workflow.shop_rules import RULES
from app.worksheets.readings import DAY


@dataclass(frozen=True, slots=True)
class ShopTemperature:
    """The temperature of the day in °C; `at` is None while nobody ever read it."""

    value: str
    at: datetime | None


def shop_temperature(session: Session) -> ShopTemperature:
    """The newest version of its rule."""
    row = session.exec(
        select(ShopRule).where(ShopRule.key == DAY).order_by(col(ShopRule.id).desc()).limit(1)
    ).first()
    if row is None:
        return ShopTemperature(RULES[DAY].default, None)
    return ShopTemperature(row.value, row.at)
