"""Every shop rule: what it limits, its default with unit and source, and what it may be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from typing import TypeVar

from app.calc.sources import Mark
from app.calc.units import LONGEST_TEXT, Length, LengthError, parse_length, trimmed
from app.workflow.cautions import CAUTIONS, Caution
from app.workflow.kinds import Said
from app.workflow.words import DecisionRule

E = TypeVar("E", bound=Enum)


class RuleKind(Said):
    """What a rule's value is."""

    LENGTH = "length"
    NUMBER = "number"
    WORD = "word"
    TEXT = "text"


class RuleGroup(Said):
    """Under which heading a rule stands."""

    MEASURE = "measure", "Measuring"
    SET = "set", "Setting the cutter"
    CUT = "cut", "Cutting"
    VERIFY = "verify", "Bore proved"
    FINISH = "finish", "Rings in and seats finished"
    PAPERS = "papers", "Papers and people"
    CAUTION = "caution", "Cautions"


class RuleError(ValueError):
    """A value that this rule cannot have; the message says why."""


@dataclass(frozen=True, slots=True)
class Definition:
    """One rule as the app knows it, before a shop changes it.

    `least` and `most` are texts with the unit, so that the refusal quotes the range as written.
    """

    key: str
    group: RuleGroup
    kind: RuleKind
    default: str
    words: str
    used: str
    source: str
    mark: Mark
    least: str = ""
    most: str = ""
    unit: str = ""
    choices: type[Said] | None = None
    is_whole: bool = False
    longest: int = 200

    @property
    def cited(self) -> str:
        """The default's source with its mark: ``head shops (common practice)``."""
        mark = self.mark.value
        return self.source if self.source.startswith(mark) else f"{self.source} ({mark})"


def _rule(
    key: str,
    group: RuleGroup,
    default: str,
    words: str,
    used: str,
    *,
    least: str = "",
    most: str = "",
    unit: str = "",
    choices: type[Said] | None = None,
    is_whole: bool = False,
    source: str = "",
    mark: Mark = Mark.COMMON_PRACTICE,
    kind: RuleKind = RuleKind.LENGTH,
    longest: int = 200,
) -> Definition:
    return Definition(
        key=key,
        group=group,
        kind=kind,
        default=default,
        words=words,
        used=used,
        source=source or mark.value,
        mark=mark,
        least=least,
        most=most,
        unit=unit,
        choices=choices,
        is_whole=is_whole,
        longest=longest,
    )


_M, _S, _C, _V, _F, _P = (
    RuleGroup.MEASURE,
    RuleGroup.SET,
    RuleGroup.CUT,
    RuleGroup.VERIFY,
    RuleGroup.FINISH,
    RuleGroup.PAPERS,
)
_NUMBER, _TEXT = RuleKind.NUMBER, RuleKind.TEXT

_LIMITS = (
    _rule(
        "temperature_c",
        _M,
        "20",
        "The shop's temperature of the day",
        "rings, heads and gauges without a temperature of their own",
        kind=_NUMBER,
        unit="°C",
        least="-10",
        most="50",
        source="ISO 1:2016: sizes hold at 20 °C",
        mark=Mark.PUBLISHED,
    ),
    _rule(
        "readings_apart",
        _M,
        ".001 in",
        "Readings this far apart are asked about",
        "every grid of readings: a slip, or is it so?",
        least=".0001 in",
        most=".020 in",
    ),
    _rule(
        "clean_up_stock",
        _M,
        ".001 in",
        "Metal to take off all round so that an old bore cleans up, on the radius",
        "clean-up of the old bore",
        least="0 in",
        most=".050 in",
    ),
    _rule(
        "least_wall_iron",
        _M,
        ".100 in",
        "Least wall behind a counterbore, iron",
        "wall to the water jacket",
        least=".010 in",
        most="1 in",
    ),
    _rule(
        "least_wall_aluminium",
        _M,
        ".125 in",
        "Least wall behind a counterbore, aluminium",
        "wall to the water jacket",
        least=".010 in",
        most="1 in",
    ),
    _rule(
        "least_web",
        _M,
        ".060 in",
        "Least web between two counterbores",
        "web to the neighbouring position",
        least=".005 in",
        most="1 in",
    ),
    _rule(
        "setting_repeatability",
        _S,
        ".0001 in",
        "How well a setting repeats, on the reading",
        "setting plan, possible error of a bore; a fixture's own figure wins",
        least="0 in",
        most=".005 in",
    ),
    _rule(
        "good_cuts_needed",
        _S,
        "5",
        "Good cuts before a tip counts as known",
        "whether the first pass goes under size",
        kind=_NUMBER,
        unit="cuts",
        least="1",
        most="50",
        is_whole=True,
    ),
    _rule(
        "first_pass_under",
        _S,
        ".002 in",
        "First pass under size by",
        "first pass while the tip is little known",
        least="0 in",
        most=".020 in",
    ),
    _rule(
        "correction_dead_band",
        _S,
        ".0002 in",
        "Leave the cutter alone while a bore is this close to what was expected",
        "correction after a cut",
        least="0 in",
        most=".005 in",
    ),
    _rule(
        "overcut_odd",
        _S,
        ".002 in",
        "Overcut beyond this is asked about",
        "setting page, bore gauged",
        least=".0002 in",
        most=".020 in",
    ),
    _rule(
        "least_cut",
        _C,
        ".0010 in",
        "Least cut, on diameter",
        "cut again as a way out: less than this rubs instead of cutting",
        least=".0001 in",
        most=".020 in",
    ),
    _rule(
        "travel_allowance",
        _C,
        ".040 in",
        "Quill travel to keep beyond the depth",
        "depth stop",
        least="0 in",
        most="1 in",
    ),
    _rule(
        "touch_again_minutes",
        _C,
        "10",
        "Touch the position again after",
        "confirming the position on the head map",
        kind=_NUMBER,
        unit="minutes",
        least="1",
        most="240",
        is_whole=True,
    ),
    _rule(
        "bore_readings",
        _C,
        "2",
        "Bore readings asked for: across and along at one height",
        "cut and gauge; more heights can be read at any position",
        kind=_NUMBER,
        unit="readings",
        least="2",
        most="8",
        is_whole=True,
    ),
    _rule(
        "decision_rule",
        _V,
        "simple",
        "How the possible error is taken into a verdict",
        "bore proved, holds",
        kind=RuleKind.WORD,
        choices=DecisionRule,
        source="simple acceptance, ILAC-G8:09/2019",
        mark=Mark.PUBLISHED,
    ),
    _rule(
        "ring_uncertainty",
        _V,
        ".0001 in",
        "Possible error of a ring's mean outside diameter",
        "possible error of an interference; an instrument's own greatest error wins",
        least="0 in",
        most=".010 in",
    ),
    _rule(
        "bore_uncertainty",
        _V,
        ".0002 in",
        "Possible error of a gauged bore",
        "possible error of an interference; an instrument's own greatest error wins",
        least="0 in",
        most=".010 in",
    ),
    _rule(
        "roundness_limit",
        _V,
        ".0005 in",
        "Bore out of round, at most",
        "bore proved",
        least=".0001 in",
        most=".010 in",
    ),
    _rule(
        "taper_limit",
        _V,
        ".0005 in",
        "Bore taper over its depth, at most",
        "bore proved",
        least=".0001 in",
        most=".010 in",
    ),
    _rule(
        "depth_tolerance",
        _V,
        ".002 in",
        "Depth may differ by",
        "bore proved",
        least=".0005 in",
        most=".050 in",
    ),
    _rule(
        "deviation_limit",
        _V,
        ".0005 in",
        "Outside the window by more than this, only an owner signs a deviation",
        "ways out of a hold",
        least="0 in",
        most=".010 in",
    ),
    _rule(
        "od_re_read_within",
        _F,
        ".0003 in",
        "The ring in hand reads within this of its measured outside diameter",
        "before the ring goes in",
        least=".0001 in",
        most=".005 in",
    ),
    _rule(
        "head_c_cap",
        _F,
        "150",
        "Hottest head to print as a figure to follow",
        "heating a head for assembly",
        kind=_NUMBER,
        unit="°C",
        least="60",
        most="250",
    ),
    _rule(
        "run_out_limit",
        _F,
        ".002 in",
        "Seat run-out to the guide, at most",
        "seat finished",
        least=".0002 in",
        most=".020 in",
        source="overhaul manuals, full indicator reading",
        mark=Mark.PUBLISHED,
    ),
    _rule(
        "seat_width_intake",
        _F,
        ".040 to .080 in (1.0 to 2.0 mm)",
        "Seat width, intake",
        "seat finished; the engine maker's figure wins",
        kind=_TEXT,
        longest=80,
    ),
    _rule(
        "seat_width_exhaust",
        _F,
        ".050 to .100 in (1.3 to 2.5 mm)",
        "Seat width, exhaust",
        "seat finished; the engine maker's figure wins",
        kind=_TEXT,
        longest=80,
    ),
    _rule(
        "sign_in_idle_hours",
        _P,
        "12",
        "A sign-in ends unused after",
        "signing in; never while a head is clamped up",
        kind=_NUMBER,
        unit="hours",
        least="1",
        most="168",
        is_whole=True,
    ),
    _rule(
        "sign_in_days",
        _P,
        "7",
        "A sign-in ends after",
        "signing in; never while a head is clamped up",
        kind=_NUMBER,
        unit="days",
        least="1",
        most="90",
        is_whole=True,
    ),
    _rule(
        "warranty_text",
        _P,
        "",
        "Warranty terms",
        "head record and hand-over; empty prints none",
        kind=_TEXT,
        longest=2000,
    ),
)

RULES: Mapping[str, Definition] = {
    rule.key: rule
    for rule in (
        *_LIMITS,
        *(
            _rule(
                f"caution_{caution.key}",
                RuleGroup.CAUTION,
                caution.text,
                caution.word,
                caution.step,
                kind=_TEXT,
                longest=400,
            )
            for caution in CAUTIONS.values()
        ),
    )
}


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
        """A caution with the shop's own sentence; word, hazard and deferral stay ours."""
        return replace(CAUTIONS[key], text=self.text(f"caution_{key}"))

    @staticmethod
    def _expect(key: str, kind: RuleKind) -> None:
        if RULES[key].kind is not kind:
            raise KeyError(f"shop rule {key} is a {RULES[key].kind.value}")
