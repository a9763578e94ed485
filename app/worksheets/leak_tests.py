"""Vacuum tests held against the shop's line, in words."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from app.calc.leak_test import LeakTest, in_mercury, leak_test
from app.calc.units import decimal_text, trimmed
from app.workflow.shop_rules import ShopRules

WITHIN = ": within it"
SEEN = "; seen: "  # parts what follows from the figures from what a person added


def worked_leak(figures: Mapping[str, Fraction], unit: str, rules: ShopRules) -> LeakTest:
    """One test; `figures` has start and end as the gauge reads them, and seconds."""
    return leak_test(
        start_inhg=in_mercury(figure=figures["start"], unit=unit),
        end_inhg=in_mercury(figure=figures["end"], unit=unit),
        seconds=figures["seconds"],
        least_end_inhg=exact_rule(rules, "vacuum_end"),
        most_lost_inhg=exact_rule(rules, "vacuum_lost"),
        over_seconds=exact_rule(rules, "vacuum_seconds"),
    )


def leak_words(figures: Mapping[str, Fraction], unit: str, rules: ShopRules) -> str:
    """``23 to 22.5 inHg in 10 s; the shop's line …: within it``."""
    found = worked_leak(figures, unit, rules)
    start, end, seconds = (told(figures[name]) for name in ("start", "end", "seconds"))
    against = []
    low = found.inputs["start_inhg"] < exact_rule(rules, "vacuum_start")
    seconds += f" s, pumped to less than {rules.shown('vacuum_start')}" if low else " s"
    if not found.holds_enough:
        against.append(f"less than {rules.shown('vacuum_end')} left")
    if not found.loses_little:
        against.append(f"{told(found.lost_inhg)} inHg lost in {rules.shown('vacuum_seconds')}")
    if not found.is_watched:
        against.append(f"watched for less than {rules.shown('vacuum_seconds')}")
    said = f": {' and '.join(against)}" if against else WITHIN
    return f"{start} to {end} {unit} in {seconds}; {line_words(rules)}{said}"


def line_words(rules: ShopRules) -> str:
    """The shop's line."""
    return (
        f"the shop's line, {rules.shown('vacuum_end')} left and at most "
        f"{rules.shown('vacuum_lost')} lost in {rules.shown('vacuum_seconds')}"
    )


def exact_rule(rules: ShopRules, key: str) -> Fraction:
    """A rule's number as it was typed."""
    rules.number(key)
    return Fraction(rules.value(key))


def told(number: Fraction, places: int = 2) -> str:
    """A figure without needless noughts."""
    return trimmed(decimal_text(number, places))
