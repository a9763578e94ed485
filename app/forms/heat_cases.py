"""Forms of a heat case: its temperatures, and taking it out of the look."""

from __future__ import annotations

from app.forms.base import Form
from app.workflow.heat_cases import LEAST_C, MOST_C, Metal, odd_case
from app.workflow.words import Kind

LONGEST_NAME = 60


class HeatCaseForm(Form):
    """Temperatures of ring and head; `where` is known for a case that holds already."""

    where: tuple[Metal, Kind] | None = None

    def parse(self) -> None:
        if self.where is None:
            self.metal = self.choice("metal", Metal, required="In which heads?")
            self.kind = self.choice("kind", Kind, required="At which valves?")
        else:
            self.metal, self.kind = self.where
        self.name = self.text("name", required="What is the case called?", most=LONGEST_NAME)
        self.ring_c = self._degrees("ring_c", "How hot is the ring?")
        self.head_c = self._degrees("head_c", "How hot is the head at the bore?")
        self.source = self.text("source", required="Say who says so, or where it was read")
        self.seen = self.raw.get("seen", "")
        self._ask_about_odd()

    def _degrees(self, name: str, required: str) -> int | None:
        return self.whole(name, required=required, least=LEAST_C, most=MOST_C)

    def _ask_about_odd(self) -> None:
        if self.errors or self.metal is None or self.ring_c is None or self.head_c is None:
            return
        question = odd_case(self.metal, self.ring_c, self.head_c)
        if question and not self.confirmed("odd"):
            self.wrong("confirm_odd", question)


class WithdrawCaseForm(Form):
    """A case goes out of the look, or back to the assumed one, and why."""

    def parse(self) -> None:
        self.source = self.text("source", required="Say why")
