"""Shop rules as they are typed, shown, and hold now: the shop's own values over the defaults."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from enum import Enum
from typing import TypeVar

from app.calc.units import LONGEST_TEXT, Length, LengthError, parse_length, trimmed
from app.workflow.cautions import CAUTIONS, Caution
from app.workflow.shop_rule import Definition, RuleError, RuleGroup, RuleKind
from app.workflow.shop_rule_table import RULES

__all__ = [
    "RULES",
    "Definition",
    "RuleError",
    "RuleGroup",
    "RuleKind",
    "ShopRules",
    "read_rule",
    "shown_rule",
]

E = TypeVar("E", bound=Enum)


def read_rule(rule: Definition, typed: str, unit: str = "in") -> str:
    """A typed value as it is stored, with its unit; refused when the rule cannot have it.

    `unit` is what a plain length means; `RuleError` says what is wrong.
    """
    value = typed.strip()
    if rule.kind is RuleKind.TEXT:
        if len(value) > rule.longest:
            raise RuleError(f"is longer than {rule.longest} characters; shorten it")
        return value
    if not value:
        raise RuleError("Type a value")
    if rule.kind is RuleKind.WORD:
        if rule.choices is None or value not in [word.value for word in rule.choices]:
            raise RuleError("is not one of the choices; choose again")
        return value
    return (
        _read_length(rule, value, unit)
        if rule.kind is RuleKind.LENGTH
        else _read_number(rule, value)
    )


def shown_rule(rule: Definition, value: str) -> str:
    """A stored value as a screen says it: with its unit, or the words of a choice."""
    if rule.kind is RuleKind.WORD and rule.choices is not None:
        return rule.choices(value).screen
    return f"{value} {rule.unit}" if rule.kind is RuleKind.NUMBER else value


def _read_length(rule: Definition, value: str, unit: str) -> str:
    lower = value.lower()
    try:
        length = parse_length(lower, unit)
    except LengthError as unread:
        raise RuleError(str(unread)) from unread
    if not parse_length(rule.least) <= length <= parse_length(rule.most):
        raise RuleError(f"is outside what can be here, {rule.least} to {rule.most}")
    stored = lower if lower[-1].isalpha() else f"{lower} {unit}"
    # Stored with its unit, so that the shop may change its unit without changing a rule.
    if len(stored) > LONGEST_TEXT:
        raise RuleError("has more digits than a limit needs")
    return stored


def _read_number(rule: Definition, value: str) -> str:
    number = value.replace(",", ".")
    plain = number.removeprefix("-")
    if not (plain.isascii() and plain.replace(".", "", 1).isdigit() and len(plain) <= 12):
        raise RuleError("must be a number")
    if rule.is_whole and not plain.isdigit():
        raise RuleError("must be a whole number")
    if not float(rule.least) <= float(number) <= float(rule.most):
        raise RuleError(f"must be from {rule.least} to {rule.most} {rule.unit}".rstrip())
    return trimmed(number)


class ShopRules:
    """The rules as they hold at one moment: the shop's newest values over the defaults."""

    def __init__(self, held: Mapping[str, tuple[str, str]]) -> None:
        """`held` maps a key to the shop's value and its source."""
        self._held = {key: value for key, value in held.items() if key in RULES}

    def value(self, key: str) -> str:
        """The stored text of a rule."""
        return self._held[key][0] if key in self._held else RULES[key].default

    def source(self, key: str) -> str:
        """Who says so: the shop's own source, or the default's with its mark."""
        return self._held[key][1] if key in self._held else RULES[key].cited

    def is_default(self, key: str) -> bool:
        """Whether the shop never set this rule."""
        return RULES[key].key not in self._held

    def shown(self, key: str) -> str:
        """The value with its unit, as a screen says it."""
        return shown_rule(RULES[key], self.value(key))

    def length(self, key: str) -> Length:
        """A rule that is a length."""
        self._expect(key, RuleKind.LENGTH)
        return parse_length(self.value(key))

    def number(self, key: str) -> float:
        """A rule that is a number, in the unit its table names."""
        self._expect(key, RuleKind.NUMBER)
        return float(self.value(key))

    def whole(self, key: str) -> int:
        """A rule that counts."""
        self._expect(key, RuleKind.NUMBER)
        return int(self.value(key))

    def word(self, key: str, words: type[E]) -> E:
        """A rule that is one word of a vocabulary."""
        self._expect(key, RuleKind.WORD)
        return words(self.value(key))

    def text(self, key: str) -> str:
        """A rule that is a text."""
        self._expect(key, RuleKind.TEXT)
        return self.value(key)

    def caution(self, key: str) -> Caution:
        """A caution with the shop's sentence and source; word, hazard and deferral stay ours."""
        rule = f"caution_{key}"
        return replace(CAUTIONS[key], text=self.text(rule), source=self.source(rule))

    @staticmethod
    def _expect(key: str, kind: RuleKind) -> None:
        if RULES[key].kind is not kind:
            raise KeyError(f"shop rule {key} is a {RULES[key].kind.value}")
