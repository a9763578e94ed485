"""Gaps on a deck, each at its place; and the engine maker's limits for this head."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from app.calc.units import Length, LengthError
from app.forms.cells import Cell
from app.forms.earlier import EarlierFields
from app.forms.readings import Entry, GridForm, read_cell
from app.workflow.grids import PLAUSIBLE, Column
from app.workflow.inspected import LINES, PART, WHOLE, odd_gap, place_words
from app.workflow.kept import Kept, Subject
from app.workflow.kinds import Quantity, ReadingKind, Unit

_PLACE = re.compile(r"[^\W_][\w \-]{0,17}")
_LONGEST_PART = Length.of("20")
_SHORTEST_PART = Length.of(".5")


@dataclass(frozen=True, slots=True)
class MakersLimits:
    """What the engine maker allows on this deck; no whole: the shop's rules hold."""

    whole: Length | None = None
    part: Length | None = None
    part_over: Length | None = None
    source: str = ""


class FlatnessForm(GridForm, EarlierFields):
    """Readings along, across and over the diagonals, one more at a place that is named."""

    NAMES: ClassVar[dict[str, str]] = {
        "other_place": "Another place",
        "other_gap": "Gap there",
        "limit_whole": "Whole length, at most",
        "limit_part": "Within a part, at most",
        "limit_over": "Length of that part",
        "limit_source": "Where it was read",
    }

    limits: MakersLimits
    is_odd: bool = False

    def __init__(
        self, raw: Mapping[str, str], cells: Sequence[Cell], *, head_id: int, unit: Unit
    ) -> None:
        self.head_id, self.unit = head_id, unit
        super().__init__(raw, cells)

    def parse(self) -> None:
        super().parse()
        self.parse_earlier()
        self._other()
        for entry in self.entries:
            self._ask(entry)
        if any(entry.typed != _kept_text(entry) for entry in self.entries):
            self.need_all()
        self._limits()

    def _other(self) -> None:
        place = self.text("other_place", most=18)
        typed = self.raw.get("other_gap", "").strip()
        if typed and not place:
            if "other_place" not in self.errors:
                self.wrong(
                    "other_place", "a flatness without a place says nothing: where was it read?"
                )
            return
        if not place:
            return
        if not _PLACE.fullmatch(place):
            self.wrong("other_place", "is named with letters and figures, such as “by plug 3”")
            return
        if not typed:
            self.wrong("other_gap", f"what was read at {place}?")
            return
        if any(place == cell.column.place for cell in self.cells):
            self.wrong("other_place", "has its field above already; type it there")
            return
        cell = gap_cell(self.head_id, place, self.unit, None)
        try:
            value = read_cell(typed, self.unit, None)
        except LengthError as unread:
            self.wrong("other_gap", f"{typed[:40]!r} {unread}")
            return
        if refusal := cell.refusal(value):
            self.wrong("other_gap", f"{typed[:40]} {refusal}. Was it typed in another unit?")
            return
        self.entries.append(Entry(cell, typed[:40], value, None))

    def _ask(self, entry: Entry) -> None:
        was = entry.cell.current
        if entry.value is None or (was is not None and was.value == entry.value):
            return
        question = odd_gap(entry.value, self.unit)
        if question:
            self.is_odd = True
            if not self.confirmed("odd"):
                is_other = entry.cell not in self.cells
                self.wrong("other_gap" if is_other else entry.cell.name, question)

    def _limits(self) -> None:
        plausible = PLAUSIBLE[Quantity.FLATNESS]
        low, high = plausible.low, plausible.high
        whole = self.length("limit_whole", self.unit, least=low, most=high)
        part = self.length("limit_part", self.unit, least=low, most=high)
        over = self.length("limit_over", self.unit, least=_SHORTEST_PART, most=_LONGEST_PART)
        source = self.text("limit_source", most=200)
        typed = {
            name: bool(self.raw.get(f"limit_{name}", "").strip())
            for name in ("whole", "part", "over")
        }
        if any(typed.values()):
            if not typed["whole"]:
                self.wrong("limit_whole", "what does the maker allow over the whole length?")
            if not source:
                self.wrong("limit_source", "say where the maker's figure was read")
        elif source:
            self.wrong("limit_whole", "which figure stands there?")
        if typed["part"] and not typed["over"]:
            self.wrong("limit_over", "over which length?")
        if typed["over"] and not typed["part"]:
            self.wrong("limit_part", "how much within that length?")
        if part is not None and whole is not None and part > whole:
            self.wrong("limit_part", "is more than what is allowed over the whole length")
        self.limits = MakersLimits(whole, part, over, source)


def _kept_text(entry: Entry) -> str:
    return entry.cell.current.typed if entry.cell.current else ""


def gap_cell(head_id: int, place: str, unit: Unit, current: Kept | None) -> Cell:
    """The field of one gap."""
    within = ", within a part" if place.endswith(PART) else ""
    return Cell(
        subject=Subject("head", head_id),
        kind=ReadingKind.FLATNESS,
        column=Column(Quantity.FLATNESS, place, place_words(place)),
        label=f"{place_words(place.removesuffix(PART))}{within}",
        unit=unit,
        current=current,
    )


def gap_places(kept: Sequence[str]) -> list[str]:
    """The lines of the page: those that are always asked, then places that were named."""
    known = [place for place, _ in LINES]
    return known + [
        place
        for place in dict.fromkeys(each.removesuffix(PART) for each in kept)
        if place not in known
    ]


def gap_columns(place: str) -> tuple[str, str]:
    """The two readings of a line: over its whole length, and within a part of it."""
    return place + WHOLE, place + PART
