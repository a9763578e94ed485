"""Changing a shop rule: a new version, logged from the old value to the new."""

from __future__ import annotations

from typing import Any

from app.models.shop import Shop, ShopRule
from app.queries.shop_rules import current_rules
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.shop_rules import RULES, RuleError, RuleKind, read_rule

CHANGED_MEANWHILE = (
    "This rule was changed while the page was open; what you typed is still here. "
    "Look at the value that holds now, and send it again if yours should replace it."
)


@use_case
def set_rule(tx: Write, key: str, value: str, source: str, *, seen: str | None = None) -> ShopRule:
    """Set a rule; `seen` is the value that the person saw when deciding."""
    rule = RULES.get(key)
    if rule is None:
        raise NotFound("There is no shop rule of this name.")
    if not source.strip():
        raise Refused("Say who says so, or why it changes.", "source")
    shop = tx.session.get(Shop, 1)
    try:
        new = read_rule(rule, value, shop.unit.value if shop else "in")
    except RuleError as wrong:
        raise Refused(str(wrong), "value") from wrong
    rules = current_rules(tx.session)
    old = rules.value(key)
    if seen is not None and seen != old:
        raise Refused(CHANGED_MEANWHILE)
    if new == old and source.strip() == rules.source(key):
        raise Refused("This is the value and the source that hold already.", "value")
    row = tx.add(
        ShopRule(by_id=tx.by_id, at=tx.at, key=key, value=new, source=source.strip()[:200])
    )
    # A text may name people; the log keeps figures only, the row keeps the text.
    figures: dict[str, Any] = {} if rule.kind is RuleKind.TEXT else {"old": old, "new": new}
    tx.log("set a shop rule", row, key=key, **figures)
    return row
