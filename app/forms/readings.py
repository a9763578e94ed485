"""A grid of readings as sent: typed values out, or an error at the very field."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from app.calc.quantities import DIAMETER
from app.calc.units import Length, LengthError, parse_comparator, parse_length
from app.forms.base import Form, is_row_id
from app.forms.cells import Cell, Comparator
from app.forms.earlier import EarlierFields
from app.workflow.kept import Kept
from app.workflow.kinds import Unit

# A gauge that writes its sign before a size: a whole number behind one would count divisions.
_HAS_SIGN = re.compile(r"\+\d*(?:[.,]\d|\d+\s*[a-z])", re.ASCII | re.IGNORECASE)
_THOUSANDTHS = re.compile(r"[0-9]{1,3}", re.ASCII)
# What a tablet kept for longer says nothing of when it was read: its clock may have been set.
LONGEST_WAIT = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class Clash:
    """Another reading at a field, kept after the page was opened on which this one was typed."""

    label: str
    typed: str
    there: Kept


@dataclass(frozen=True, slots=True)
class Entry:
    """What was sent for one cell; no value: the kept reading was taken out of the field."""

    cell: Cell
    typed: str
    value: Length | None
    had_id: int | None
    # A tablet that kept it until the server answered: its own key, and for how long it waited.
    key: str = ""
    waited: timedelta = timedelta(0)


def _perhaps(cell: Cell, typed: str) -> str:
    """What may have been meant by a size that cannot be: thousandths without their point."""
    if cell.unit is Unit.INCH and _THOUSANDTHS.fullmatch(typed):
        meant = f".{int(typed):03d}"
        if cell.refusal(Length.of(meant)) is None:
            return f"Were thousandths meant? Those are typed {meant}."
    return "Was it typed in another unit?"


class GridForm(Form):
    """The sent cells of a page; fields of other cells are not read."""

    entries: list[Entry]
    # Fields at which another reading had arrived: it was named, and may now be replaced.
    clashes: dict[str, Clash]
    # Fields that stand in the record as they were sent, now or since an earlier sending.
    settled: frozenset[str] = frozenset()

    def __init__(self, raw: Mapping[str, str], cells: Sequence[Cell]) -> None:
        self.cells = cells
        super().__init__(raw)

    def parse(self) -> None:
        self.entries = []
        self.clashes = {}
        way, _, name = self.raw.get("choose", "").partition(":")
        if way == "theirs":
            # Of two readings at one field the kept one stays: what was typed here is let go.
            self.raw.pop(name, None)
        for cell in self.cells:
            if cell.name in self.raw:
                self._parse(cell)

    def settle(self) -> None:
        """All that was sent and is not wrong stands in the record."""
        sent = {cell.name for cell in self.cells if cell.name in self.raw}
        self.settled = frozenset(sent - set(self.errors))

    def _parse(self, cell: Cell) -> None:
        typed = self.raw[cell.name].strip()
        had = self.raw.get(cell.had_name, "")
        had_id = int(had) if is_row_id(had) else None
        if not typed:
            if had_id is not None:
                self.entries.append(self._entry(cell, "", None, had_id))
            return
        if cell.current is not None and had_id == cell.current.id and cell.shows(typed):
            # As it was kept, whatever gauge is chosen on the page by now.
            self.entries.append(self._entry(cell, cell.current.typed, cell.current.value, had_id))
            return
        try:
            value = read_cell(typed, cell.unit, cell.comparator)
        except LengthError as unread:
            self.wrong(cell.name, f"{cell.label}: {typed[:40]!r} {unread}")
            return
        if refusal := cell.refusal(value):
            self.wrong(
                cell.name,
                f"{cell.label}: {typed[:40]} {refusal}. {_perhaps(cell, typed)}",
            )
            return
        self.entries.append(self._entry(cell, typed, value, had_id))

    def _entry(self, cell: Cell, typed: str, value: Length | None, had_id: int | None) -> Entry:
        key = self.raw.get(f"key.{cell.name}", "")
        waited = self.raw.get(f"waited.{cell.name}", "")
        seconds = int(waited) if waited.isascii() and waited.isdigit() and len(waited) < 9 else 0
        return Entry(
            cell,
            typed,
            value,
            had_id,
            key[:64] if key.isascii() and key.isalnum() else "",
            min(timedelta(seconds=seconds), LONGEST_WAIT),
        )


def read_cell(typed: str, unit: Unit, comparator: Comparator | None) -> Length:
    """One reading: a size, or divisions from the master when the gauge was zeroed on one."""
    if comparator is not None and typed[:1] in "+-" and typed[1:2].isdigit():
        return parse_comparator(typed, comparator.zeroed_on, comparator.division)
    if comparator is None and _HAS_SIGN.match(typed):
        typed = typed[1:]
    if typed[:1] == "+":
        raise LengthError("counts divisions; say which gauge, and what it was zeroed on")
    return parse_length(typed.lower(), unit.value)


class ReadWithForm(EarlierFields):
    """With what a grid is read: instrument, what it was zeroed on, temperatures; and when."""

    instrument_id: int | None
    zeroed_on: Length | None
    part_c: float | None
    gauge_c: float | None
    # Who typed it, when a tablet sends it while someone else is signed in.
    typed_by_id: int | None

    def __init__(self, raw: Mapping[str, str], unit: Unit) -> None:
        self.unit = unit
        super().__init__(raw)

    def parse(self) -> None:
        self.instrument_id = self.whole("instrument", least=1)
        self.zeroed_on = self.length(
            "zeroed_on", self.unit, least=Length.of("1", "mm"), most=DIAMETER.high
        )
        self.part_c = self.number("part_c", least=-30, most=80, unit="°C")
        self.gauge_c = self.number("gauge_c", least=-30, most=80, unit="°C")
        self.typed_by_id = self.whole("typed_by", least=1)
        self.parse_earlier()


class StrikeForm(Form):
    """A reading is struck, with a reason."""

    reason: str

    def parse(self) -> None:
        self.reason = self.text("reason", required="Say why it no longer counts.", most=200)


class KeepForm(Form):
    """A doubtful reading is kept, with a reason."""

    reason: str

    def parse(self) -> None:
        self.reason = self.text("reason", required="Say why it is kept.", most=200)
