"""Shop rules: every default is a value the rule may have, and refusals say the range."""

from __future__ import annotations

import pytest

from app.calc.units import Length
from app.workflow.shop_rules import RULES, RuleError, RuleKind, ShopRules, read_rule, shown_rule
from app.workflow.words import DecisionRule

NOTHING_SET = ShopRules({})


@pytest.mark.parametrize("key", RULES)
def test_every_default_is_a_value_that_its_rule_may_have(key: str) -> None:
    rule = RULES[key]
    assert read_rule(rule, rule.default) == rule.default
    assert rule.words
    assert rule.used
    assert rule.cited


def test_a_rule_without_a_shop_value_gives_its_default_and_says_how_it_was_checked() -> None:
    assert NOTHING_SET.length("least_cut") == Length.of(".0010")
    assert NOTHING_SET.source("least_cut") == "common practice"
    assert NOTHING_SET.word("decision_rule", DecisionRule) is DecisionRule.SIMPLE
    assert NOTHING_SET.whole("good_cuts_needed") == 5
    assert NOTHING_SET.number("temperature_c") == 20


def test_the_shops_value_wins_with_its_source() -> None:
    rules = ShopRules({"least_cut": ("0.03 mm", "Odile, after the test in May")})
    assert rules.length("least_cut") == Length.of("0.03", "mm")
    assert rules.source("least_cut") == "Odile, after the test in May"
    assert not rules.is_default("least_cut")
    assert rules.is_default("least_web")


def test_a_plain_length_takes_the_shops_unit_and_is_stored_with_it() -> None:
    assert read_rule(RULES["least_cut"], "0,03", "mm") == "0,03 mm"
    assert read_rule(RULES["least_cut"], "2 thou", "mm") == "2 thou"
    assert ShopRules({"least_cut": ("2 thou", "x")}).length("least_cut") == Length.of(".002")


@pytest.mark.parametrize(
    ("key", "typed", "says"),
    [
        ("least_cut", "1 in", "outside what can be here, .0001 in to .020 in"),
        ("least_cut", "abc", "no digits"),
        ("least_cut", "", "Type a value"),
        ("least_cut", "nan", "finite"),
        ("least_cut", "-.001", "outside"),
        ("least_cut", "." + "0" * 36 + "1", "outside"),
        ("least_cut", ".001" + "0" * 35, "more digits"),
        ("decision_rule", "generous", "not one of the choices"),
        ("good_cuts_needed", "2.5", "whole number"),
        ("good_cuts_needed", "0", "from 1 to 50 cuts"),
        ("temperature_c", "1e1", "must be a number"),
        ("temperature_c", "inf", "must be a number"),
        ("head_c_cap", "400", "from 60 to 250"),
        ("caution_dust", "x" * 401, "longer than 400"),
    ],
)
def test_what_a_rule_cannot_be_is_refused_with_the_reason(key: str, typed: str, says: str) -> None:
    with pytest.raises(RuleError, match=says):
        read_rule(RULES[key], typed)


def test_a_rule_asked_for_as_another_kind_is_a_mistake_in_the_code() -> None:
    with pytest.raises(KeyError):
        NOTHING_SET.length("temperature_c")


def test_a_value_is_shown_with_its_unit_or_its_words() -> None:
    assert shown_rule(RULES["touch_again_minutes"], "10") == "10 minutes"
    assert shown_rule(RULES["decision_rule"], "full_guard") == DecisionRule.FULL_GUARD.screen
    assert shown_rule(RULES["least_cut"], ".0010 in") == ".0010 in"


def test_a_cautions_own_words_stay_whatever_the_shop_writes() -> None:
    mine = ShopRules({"caution_hot_head": ("", "Odile")}).caution("hot_head")
    assert mine.text == ""
    assert mine.word == "Hot head"
    assert mine.hazard
    assert "Safety data sheets" in mine.defer


def test_no_rule_calls_anything_safe() -> None:
    for rule in RULES.values():
        assert " safe" not in f" {rule.words} {rule.used} {rule.default}".lower()
    assert {rule.kind for rule in RULES.values()} == set(RuleKind)
