"""The shop's temperature of the day, read at the bench."""

from __future__ import annotations

from typing import ClassVar

from app.forms.base import Form
from app.workflow.shop_rules import RULES


class ShopTemperatureForm(Form):
    """One figure; rings, heads and gauges without one of their own are taken to be so warm."""

    names: ClassVar[dict[str, str]] = {"temperature": "Shop, °C"}

    temperature: float | None

    def parse(self) -> None:
        rule = RULES["temperature_c"]
        self.temperature = self.number(
            "temperature",
            required="What does the thermometer read?",
            least=float(rule.least),
            most=float(rule.most),
            unit=rule.unit,
        )
