"""A vacuum pulled on every position of a head: one method and gauge, figures for each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from app.forms.earlier import EarlierFields
from app.workflow.kinds import VacuumUnit
from app.workflow.words import Outcome

FIGURES = ("start", "end", "seconds")
# A whole vacuum, a little over what the air weighs.
MOST = {VacuumUnit.INHG: 30.0, VacuumUnit.KPA: 101.4}


@dataclass(frozen=True, slots=True)
class LeakTested:
    """What the page says of one position; no outcome: by its figures."""

    outcome: Outcome | None
    figures: Mapping[str, str]  # start, end, seconds, as typed; empty without a gauge
    note: str  # why it was not done, else what was seen
    had_id: int | None


class LeakTestsForm(EarlierFields):
    """Every position of a head; `ids` maps their ids to their labels."""

    ids: Mapping[int, str]
    names: ClassVar[Mapping[str, str]] = EarlierFields.EARLIER | {
        "method": "How",
        "unit": "The gauge reads",
        "seconds": "Watched for",
        "rest": "The others were not tested",
    }
    method: str
    unit: VacuumUnit
    said: dict[int, LeakTested]

    def __init__(self, raw: Mapping[str, str], *, ids: Mapping[int, str]) -> None:
        super().__init__(raw, ids=ids)

    def parse(self) -> None:
        self.said = {}
        self.method = self.text("method", most=80)
        self.unit = self.choice("unit", VacuumUnit) or VacuumUnit.INHG
        self._figure("seconds")
        rest = self.text("rest", most=200)
        for port_id in self.ids:
            self._position(port_id, rest)
        if not self.said and not self.errors:
            self.wrong("form", "Nothing is said of any position yet; nothing was stored.")
        self.parse_earlier()
        self.need_all()

    def _position(self, port_id: int, rest: str) -> None:
        typed = {name: self._figure(f"{name}_{port_id}") for name in FIGURES}
        outcome = self.choice(f"outcome_{port_id}", Outcome)
        note = self.text(f"note_{port_id}", most=200)
        had = self.whole(f"had_{port_id}")
        has_read = bool(typed["start"] or typed["end"])
        if not (has_read or outcome or note or typed["seconds"]):
            if rest:
                self.said[port_id] = LeakTested(Outcome.NOT_DONE, {}, rest, had)
            return
        label = self.ids[port_id]
        if outcome is Outcome.NOT_DONE:
            if not note:
                self.wrong(f"note_{port_id}", f"{label} was not tested, because …? Say why.")
            self.said[port_id] = LeakTested(outcome, {}, note, had)
            return
        if has_read:
            typed["seconds"] = typed["seconds"] or self.raw.get("seconds", "").strip()
            self._need(port_id, label, typed)
        elif outcome is None:
            self.wrong(f"outcome_{port_id}", f"say how the test of {label} ended, or its figures")
        figures = {name: text for name, text in typed.items() if text} if has_read else {}
        self.said[port_id] = LeakTested(outcome, figures, note, had)

    def _need(self, port_id: int, label: str, typed: Mapping[str, str]) -> None:
        for name, words in (
            ("start", "say what the gauge read at the start"),
            ("end", "say what the gauge read at the end"),
            ("seconds", "say for how many seconds it was watched"),
        ):
            if not typed[name]:
                self.wrong(f"{name}_{port_id}", f"{label}: {words}")
        start, end = self._value(typed["start"]), self._value(typed["end"])
        if start is not None and end is not None and end > start:
            self.wrong(f"end_{port_id}", f"{label}: the vacuum cannot grow; which is which?")
        if start == 0:
            self.wrong(f"start_{port_id}", f"{label}: no vacuum was pulled")

    def _figure(self, name: str) -> str:
        """One figure as typed, with a point; refused where no gauge or clock reads it."""
        if name.startswith("seconds"):
            found = self.number(name, least=1, most=3600, unit="seconds")
        else:
            found = self.number(name, least=0, most=MOST[self.unit], unit=self.unit.value)
        return "" if found is None else self.raw[name].strip().replace(",", ".")

    @staticmethod
    def _value(typed: str) -> float | None:
        return float(typed) if typed else None
