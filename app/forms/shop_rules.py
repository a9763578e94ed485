"""Forms of the shop's rules: one rule, and one interference window."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from app.calc.quantities import LENGTH_RANGES, LengthRange
from app.calc.units import Length
from app.forms.base import Form
from app.workflow.kinds import Unit
from app.workflow.shop_rules import Definition, RuleError, RuleKind, read_rule
from app.workflow.words import Material

FIT = LENGTH_RANGES["interference"]
OD = LengthRange(Length(0), LENGTH_RANGES["ring_od"].high)
# Beyond these a window is possible, and odd: thou of interference per inch of ring OD.
ODD_BELOW, ODD_ABOVE = Length.of(".0005"), Length.of(".010")


class RuleForm(Form):
    """A new value of a rule, and who says so; `seen` is the value that the page showed."""

    rule: Definition
    unit: Unit

    def parse(self) -> None:
        lines = self.rule.kind is RuleKind.TEXT
        self.value = self.text("value", most=self.rule.longest, lines=lines)
        self.source = self.text("source", required="Say who says so, or why it changes", most=200)
        self.seen = self.raw.get("seen")
        if not self.errors.get("value"):
            try:
                self.value = read_rule(self.rule, self.value, self.unit.value)
            except RuleError as wrong:
                self.wrong("value", str(wrong))


class InterferenceForm(Form):
    """The window of a head material and a band of ring sizes; plain numbers in the shop's unit."""

    names: ClassVar[Mapping[str, str]] = {
        "material": "Head material",
        "od_from": "Seat ring outside, from",
        "od_below": "up to, not including",
        "least": "Least",
        "aim": "Aim",
        "most": "Most",
        "confirm_odd": "Yes, it is so",
        "source": "Who says so, or why",
    }

    unit: Unit

    def parse(self) -> None:
        self.material = self.choice("material", Material, required="For which head material?")
        self.od_from = self._size("od_from", OD, "From which ring OD? 0 for every smaller one")
        self.od_below = self._size("od_below", OD)
        self.least = self._size("least", FIT, "The least interference")
        self.aim = self._size("aim", FIT, "What to aim at")
        self.most = self._size("most", FIT, "The most interference")
        self.source = self.text("source", required="Say who says so, or why it changes", most=160)
        if self.od_from and self.od_below and self.od_from >= self.od_below:
            self.wrong("od_below", "The band must end above where it starts")
        if self.least and self.most and self.least > self.most:
            self.wrong("most", "The most must not be below the least")
        if self.least and self.aim and self.most and not self.least <= self.aim <= self.most:
            self.wrong("aim", "The aim must lie between the least and the most")
        self._ask_about_odd()

    def _size(self, name: str, within: LengthRange, required: str = "") -> Length | None:
        return self.length(name, self.unit, required=required, least=within.low, most=within.high)

    def _ask_about_odd(self) -> None:
        if self.errors or not (self.least and self.most) or self.od_from is None:
            return
        # Per inch of the largest ring of the band, or of the smallest where it has no end.
        largest = self.od_below or self.od_from or Length.of("1")
        smallest = self.od_from if self.od_from else Length.of(".75")
        odd = (
            self.least.nm * Length.of("1").nm < ODD_BELOW.nm * largest.nm
            or self.most.nm * Length.of("1").nm > ODD_ABOVE.nm * smallest.nm
        )
        if odd and not self.confirmed("odd"):
            self.wrong(
                "confirm_odd",
                "That is less than half a thou or more than ten thou per inch of ring. Is it so?",
            )


class WithdrawForm(Form):
    """A band goes back to the default, and why."""

    names: ClassVar[Mapping[str, str]] = {
        "source": "Back to the default, because",
    }

    def parse(self) -> None:
        self.source = self.text("source", required="Say why it goes", most=160)
