"""Changing a shop rule: a new version, logged from the old value to the new."""

from __future__ import annotations

from typing import Any

from app.calc.units import Length
from app.models.shop import InterferenceRule, Shop, ShopRule
from app.queries.shop_rules import current_rules
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.shop_rules import RULES, RuleError, RuleKind, read_rule
from app.workflow.words import Material

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

    What was accepted by an earlier rule keeps its own figures: each pass holds the window that
    it was worked by.
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
    tx.log("set an interference rule", row, **_figures(row))
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
            **rule.model_dump(include={"material", "od_from", "od_below", "least", "aim", "most"}),
        )
    )
    tx.log("retired an interference rule", row, **_figures(row))
    return row


def _figures(row: InterferenceRule) -> dict[str, Any]:
    return {
        "material": row.material.value,
        "od_from_nm": row.od_from.nm,
        "od_below_nm": row.od_below.nm if row.od_below else None,
        "least_nm": row.least.nm,
        "aim_nm": row.aim.nm,
        "most_nm": row.most.nm,
    }
