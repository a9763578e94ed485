"""Interference rules: the shop's own rows over the default windows."""

from __future__ import annotations

from functools import cache
from typing import Any, NamedTuple

from sqlmodel import Session, col, func, select

from app.calc.materials import HeadMaterial
from app.calc.rules import DEFAULT_RULES, Rule, interference
from app.calc.rules import rule_for as newest_that_applies
from app.calc.units import Length
from app.models.shop import InterferenceRule
from app.workflow.words import Material


class Window(NamedTuple):
    """The interference that a ring should have in a head, on diameter, and who says so."""

    least: Length
    aim: Length
    most: Length
    source: str


def rule_for(session: Session, material: Material, od: Length, unit: str = "in") -> Window:
    """The shop's window for a head material and a mean ring OD at 20 °C.

    `unit` is what the source's words give the band of sizes in.
    """
    rule = newest_that_applies(
        material=HeadMaterial(material.value), ring_od=od, rules=rules_in_force(session)
    )
    fit = rule.interference
    return Window(
        fit.least,
        fit.aim,
        fit.most,
        f"{material.screen}, {band_words(rule.od_from, rule.od_below, unit)}: {rule.source}"[:200],
    )


def band_words(od_from: Length, od_below: Length | None, unit: str) -> str:
    """A band of ring sizes as it is said: ``ring OD 1.25 up to 2.00 in``."""
    low = od_from.shown(unit, 2, 2)
    if od_below is None:
        return f"ring OD from {low} {unit}"
    below = od_below.shown(unit, 2, 2)
    return f"ring OD {low} up to {below} {unit}" if od_from else f"ring OD under {below} {unit}"


def rules_in_force(session: Session) -> tuple[Rule, ...]:
    """Every rule that holds, in the order in which a later one wins over an earlier."""
    return combined(newest_rows(session))


def newest_rows(session: Session) -> list[InterferenceRule]:
    """The shop's newest row of each material and size band, oldest first; one statement."""
    return list(session.exec(_newest()))


@cache
def _newest() -> Any:
    # Built once: every page and write of a head asks for it.
    newest = select(func.max(col(InterferenceRule.id))).group_by(
        col(InterferenceRule.material),
        col(InterferenceRule.od_from),
        col(InterferenceRule.od_below),
    )
    return (
        select(InterferenceRule)
        .where(col(InterferenceRule.id).in_(newest))
        .order_by(col(InterferenceRule.id))
    )


def combined(rows: list[InterferenceRule]) -> tuple[Rule, ...]:
    """The defaults, less the bands that the shop has made its own, then the shop's rows."""
    own = [_rule(row) for row in rows if not row.retired]
    taken = {(rule.material, rule.od_from, rule.od_below) for rule in own}
    defaults = [
        rule for rule in DEFAULT_RULES if (rule.material, rule.od_from, rule.od_below) not in taken
    ]
    return (*defaults, *own)


def _rule(row: InterferenceRule) -> Rule:
    return Rule(
        material=HeadMaterial(row.material.value),
        od_from=row.od_from,
        od_below=row.od_below,
        interference=interference(least=row.least, aim=row.aim, most=row.most),
        source=row.source,
    )
