"""Choosing a way out of a hold, or signing a deviation."""

from __future__ import annotations

from app.forms.base import Form
from app.workflow.words import Way


class WayForm(Form):
    """Which way, and why; a deviation also says value, limit, who decided and who was told."""

    way: Way | None
    reason: str
    ring_tag: str
    value: str
    limit: str
    decided_by: str
    customer_told: bool | None

    def parse(self) -> None:
        self.way = self.choice("way", Way, required="Choose a way out.")
        self.reason = self.text("reason", required="Say why, in a few words.", most=400)
        self.ring_tag = self.text("ring", most=20)
        self.value = self.text("value", most=80)
        self.limit = self.text("limit", most=80)
        self.decided_by = self.text("decided_by", most=80)
        told = self.raw.get("customer_told", "")
        self.customer_told = {"yes": True, "no": False}.get(told)
        if self.way is Way.ANOTHER_RING and not self.ring_tag:
            self.wrong("ring", "Choose which ring.")
        if self.way is Way.DEVIATION:
            if not self.decided_by:
                self.wrong("decided_by", "Say who decided.")
            if self.customer_told is None:
                self.wrong("customer_told", "Say whether the customer was told.")
