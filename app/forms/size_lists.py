"""A size list that is pasted or read from a file: every line read, and said what becomes of it."""

from __future__ import annotations

import csv
import io
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar

from app.calc.trace import sha256
from app.forms.base import Form
from app.forms.ring_sizes import RingSizeForm, size_key
from app.workflow.kinds import Unit

COLUMNS = ("supplier", "part", "od", "height", "inside", "material", "unit")
MOST_LINES = 1000
LONGEST_LIST = 200_000
# Other headings that lists have for the same columns.
_ALSO = {
    "outside": "od",
    "outside diameter": "od",
    "o.d.": "od",
    "id": "inside",
    "inside diameter": "inside",
    "i.d.": "inside",
    "depth": "height",
    "number": "part",
    "part number": "part",
    "from": "supplier",
}
_SHOWN_AT_MOST = 120


@dataclass(frozen=True, slots=True)
class SizeLine:
    """One line of the list: its size, or why it is refused."""

    nth: int
    text: str
    size: RingSizeForm | None
    refused: str

    @property
    def is_good(self) -> bool:
        """It can be kept."""
        return not self.refused


class SizeListForm(Form):
    """The list as text; nothing is kept before every line of it was shown."""

    unit: Unit
    lines: tuple[SizeLine, ...] = ()
    mark: str = ""
    known: Collection[tuple[object, ...]] = ()  # what stands on the shop's list already
    names: ClassVar[dict[str, str]] = {"list": "The list", "unit": "Unit", "supplier": "Supplier"}

    def parse(self) -> None:
        self.unit = self.choice("unit", Unit) or self.unit
        self.supplier = self.text("supplier", most=60)
        text = self.raw.get("list", "").replace("\r\n", "\n").replace("\r", "\n")
        self.mark = sha256("\n".join([self.unit, self.supplier, text]))
        if not text.strip():
            self.wrong("list", "Paste the list, or choose its file")
        elif len(text) > LONGEST_LIST:
            self.wrong("list", f"is longer than {LONGEST_LIST} characters; send it in parts")
        else:
            self._read(text)

    @property
    def good(self) -> tuple[SizeLine, ...]:
        """Lines that can be kept."""
        return tuple(line for line in self.lines if line.is_good)

    @property
    def bad(self) -> tuple[SizeLine, ...]:
        """Lines that are refused."""
        return tuple(line for line in self.lines if not line.is_good)

    @property
    def was_looked_at(self) -> bool:
        """It is, to the letter, what was shown line by line."""
        return self.raw.get("looked_at", "") == self.mark

    @property
    def is_to_keep(self) -> bool:
        """It was sent to be kept, and not to be looked at."""
        return self.raw.get("do", "") == "keep"

    def _read(self, text: str) -> None:
        try:
            rows = list(_rows(text))
        except csv.Error as no:
            self.wrong("list", f"cannot be read as a table: {no}. Save it as CSV and try again.")
            return
        columns, rows = _columns(rows)
        if len(rows) > MOST_LINES:
            self.wrong("list", f"has {len(rows)} lines; {MOST_LINES} go in at once")
            return
        if not rows:
            self.wrong("list", "has a heading and no lines")
            return
        found: list[SizeLine] = []
        before: dict[tuple[object, ...], int] = {}
        for nth, cells in rows:
            line = self._line(nth, cells, columns)
            if line.size is not None and line.is_good:
                key = size_key(line.size, line.size.od)
                told = f"the same as line {before[key]}" if key in before else ""
                if key in self.known:
                    told = "stands on the list already"
                if told:
                    line = SizeLine(nth, line.text, line.size, told)
                before.setdefault(key, nth)
            found.append(line)
        self.lines = tuple(found)

    def _line(self, nth: int, cells: Sequence[str], columns: Sequence[str]) -> SizeLine:
        text = ", ".join(cell.strip() for cell in cells)[:_SHOWN_AT_MOST]
        if len(cells) > len(columns) and any(cell.strip() for cell in cells[len(columns) :]):
            return SizeLine(
                nth,
                text,
                None,
                f"has {len(cells)} columns instead of {len(columns)}; was a decimal comma read "
                "as the next column?",
            )
        raw = {name: cell.strip() for name, cell in zip(columns, cells, strict=False)}
        raw["unit"] = _UNITS.get(raw.get("unit", "").casefold(), raw.get("unit", "")) or self.unit
        raw["supplier"] = raw.get("supplier") or self.supplier
        form = RingSizeForm(raw, unit=self.unit)
        told = "; ".join(
            f"{form.names.get(name, name)}: {words}" for name, words in form.errors.items()
        )
        return SizeLine(nth, text, form, told)


_UNITS = {
    **dict.fromkeys(("in", "inch", "inches", '"'), "in"),
    **dict.fromkeys(("mm", "millimetre", "millimeter", "millimetres"), "mm"),
}


def text_of(content: bytes) -> str | None:
    """A file's text, by what spreadsheets write; None for what is no text."""
    if b"\x00" in content and not content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return None
    marks = {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}
    for encoding in (marks.get(content[:2], "utf-8-sig"), "cp1252"):
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        return None if any(ord(each) < 32 and each not in "\r\n\t" for each in text) else text
    return None


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Lines that hold something, with their numbers as an editor counts them."""
    first = next(line for line in text.split("\n") if line.strip())
    # Where a comma is the decimal sign, columns are parted by a semicolon or a tab.
    delimiter = next((mark for mark in ("\t", ";") if mark in first), ",")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=True)
    start = 1
    for cells in reader:
        if any(cell.strip() for cell in cells):
            yield start, cells
        start = reader.line_num + 1


def _columns(
    rows: list[tuple[int, list[str]]],
) -> tuple[Sequence[str], list[tuple[int, list[str]]]]:
    """The columns by the list's own heading, else in the order that the page names."""
    heading = [cell.strip().casefold() for cell in rows[0][1]]
    named = [_ALSO.get(name, name) for name in heading]
    if "od" not in named:
        return COLUMNS, rows
    return named, rows[1:]
