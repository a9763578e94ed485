"""A list that is pasted or read from a file: every line read, and said what becomes of it."""

from __future__ import annotations

import csv
import io
from abc import ABC, abstractmethod
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar, Generic, TypeVar

from app.calc.trace import sha256
from app.forms.base import Form
from app.workflow.kinds import Unit

LONGEST_LIST = 200_000
SHOWN_AT_MOST = 120
UNITS = {
    **dict.fromkeys(("in", "inch", "inches", '"'), "in"),
    **dict.fromkeys(("mm", "millimetre", "millimeter", "millimetres"), "mm"),
}
# A cell that begins so was to be worked out by a spreadsheet; what it came to is not in the file.
FORMULAS = ("=", "@")

F = TypeVar("F", bound=Form)
Key = tuple[object, ...]
Rows = list[tuple[int, list[str]]]


@dataclass(frozen=True, slots=True)
class ListLine(Generic[F]):
    """One line of a list: its form, or why it is refused, or that the shop has it already."""

    nth: int
    text: str
    form: F | None
    refused: str
    is_known: bool = False

    @property
    def is_good(self) -> bool:
        """It can be kept."""
        return not self.refused and not self.is_known


class ListForm(Form, ABC, Generic[F]):
    """A list as text; nothing is kept before every line of it was shown."""

    columns: ClassVar[tuple[str, ...]]
    # A list's first line is its heading when it names this column.
    marker: ClassVar[str]
    needs_heading: ClassVar[bool] = True
    also: ClassVar[Mapping[str, str]] = {}  # other headings that lists have for the same columns
    most_lines: ClassVar[int] = 2000
    known_is_refused: ClassVar[bool] = False
    already: ClassVar[str] = "is here already; it is left as it is"
    names: ClassVar[Mapping[str, str]] = {"list": "The list", "unit": "Unit"}

    unit: Unit
    known: Collection[Key] = ()  # what the shop has already
    known_newest: int = 0
    lines: tuple[ListLine[F], ...] = ()
    unused: tuple[str, ...] = ()  # columns of the list that nothing is read from
    mark: str = ""

    def parse(self) -> None:
        self.unit = self.choice("unit", Unit) or self.unit
        text = self.raw.get("list", "").replace("\r\n", "\n").replace("\r", "\n")
        self.mark = sha256("\n".join([self.unit, *self._besides(), text]))
        if not text.strip():
            self.wrong("list", "Paste the list, or choose its file")
        elif len(text) > LONGEST_LIST:
            self.wrong("list", f"is longer than {LONGEST_LIST} characters; send it in parts")
        else:
            self._read(text)

    def _besides(self) -> list[str]:
        """Fields beside the list that say how it is read."""
        return []

    @abstractmethod
    def line_form(self, raw: dict[str, str]) -> F:
        """One line by the form that takes such a thing in by hand."""

    @abstractmethod
    def key(self, form: F) -> Key:
        """What makes two lines the same thing."""

    @property
    def good(self) -> tuple[ListLine[F], ...]:
        """Lines that can be kept."""
        return tuple(line for line in self.lines if line.is_good)

    @property
    def bad(self) -> tuple[ListLine[F], ...]:
        """Lines that are refused."""
        return tuple(line for line in self.lines if line.refused)

    @property
    def there(self) -> tuple[ListLine[F], ...]:
        """Lines that the shop has already."""
        return tuple(line for line in self.lines if line.is_known)

    @property
    def was_looked_at(self) -> bool:
        """It is, to the letter, what was shown line by line."""
        return self.raw.get("looked_at", "") == self.mark

    @property
    def is_to_keep(self) -> bool:
        """It was sent to be kept, and not to be looked at."""
        return self.raw.get("do", "") == "keep"

    def why_not_kept(self) -> tuple[str, str]:
        """Why nothing of it is kept, in words, and the field; empty when it can be."""
        if not self.was_looked_at:
            return "The list was changed since it was shown: look at it once more.", "list"
        if not self.good:
            return "No line of it can be kept.", "list"
        if self.bad and not self.yes("without_bad"):
            return "Some lines are refused: mend them, or tick that they are left out.", "bad"
        return "", ""

    def _read(self, text: str) -> None:
        try:
            rows = list(_rows(text))
        except csv.Error as no:
            self.wrong("list", f"cannot be read as a table: {no}. Save it as CSV and try again.")
            return
        columns, rows = self._headed(rows)
        if not self.ok:
            return
        if len(rows) > self.most_lines:
            self.wrong("list", f"has {len(rows)} lines; {self.most_lines} go in at once")
            return
        if not rows:
            self.wrong("list", "has a heading and no lines")
            return
        self.unused = tuple(name for name in columns if name and name not in self.columns)
        found: list[ListLine[F]] = []
        before: dict[Key, int] = {}
        for nth, cells in rows:
            line = self._line(nth, cells, columns)
            if line.form is not None and line.is_good:
                key = self.key(line.form)
                if key in before:
                    line = replace(line, refused=f"the same as line {before[key]}")
                elif key in self.known and self.known_is_refused:
                    line = replace(line, refused=self.already)
                elif key in self.known:
                    line = replace(line, is_known=True)
                before.setdefault(key, nth)
            found.append(line)
        self.lines = tuple(found)

    def _headed(self, rows: Rows) -> tuple[Sequence[str], Rows]:
        """The columns by the list's own heading, else in the order that the page names."""
        heading = [cell.strip().casefold() for cell in rows[0][1]]
        named = [self.also.get(name, name) for name in heading]
        if self.marker in named:
            return named, rows[1:]
        if self.needs_heading:
            told = ", ".join(heading)[:SHOWN_AT_MOST]
            self.wrong(
                "list",
                f"must begin with a line that names its columns, at least {self.marker}; it begins "
                f"with “{told}”. Are its columns parted by a comma, a semicolon or a tab?",
            )
        return self.columns, rows

    def _line(self, nth: int, cells: Sequence[str], columns: Sequence[str]) -> ListLine[F]:
        text = ", ".join(cell.strip() for cell in cells)[:SHOWN_AT_MOST]
        if len(cells) > len(columns) and any(cell.strip() for cell in cells[len(columns) :]):
            told = (
                f"has {len(cells)} columns instead of {len(columns)}; was a decimal comma read "
                "as the next column?"
            )
            return ListLine(nth, text, None, told)
        if formula := next((cell for cell in cells if cell.strip().startswith(FORMULAS)), ""):
            told = f"has a formula, {formula.strip()[:40]}: save the list with values instead"
            return ListLine(nth, text, None, told)
        raw = {name: plain_cell(cell) for name, cell in zip(columns, cells, strict=False)}
        raw["unit"] = UNITS.get(raw.get("unit", "").casefold(), raw.get("unit", "")) or self.unit
        form = self.line_form(raw)
        told = "; ".join(
            f"{form.names.get(name, name)}: {words}" for name, words in form.errors.items()
        )
        return ListLine(nth, text, form, told)


def plain_cell(cell: str) -> str:
    """A cell without the apostrophe that keeps a spreadsheet from working it out."""
    text = cell.strip()
    return text[1:] if text[:1] == "'" and text[1:2] in tuple("=+-@") else text


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
