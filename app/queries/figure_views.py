"""What every figure of the office is made of: its count, its definition, pictures and a table."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from app.calc.units import Length

Cell = str | int | float | Length | None


class Holds(Enum):
    """What stands in a column."""

    TEXT = "text"
    COUNT = "count"
    LENGTH = "length"
    SHARE = "share"  # of 1
    NUMBER = "number"


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table; `places` are inch places of a length or decimals of a number."""

    name: str
    holds: Holds = Holds.TEXT
    places: int = 4


@dataclass(frozen=True, slots=True)
class Row:
    """One row; `href` leads to what it counts."""

    cells: tuple[Cell, ...]
    href: str = ""


@dataclass(frozen=True, slots=True)
class Span:
    """One line of a picture: a bar from nought to `value`, or a mark between `low` and `high`."""

    label: str
    note: str
    value: float | None  # None: too few cases to draw
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Spans:
    """A picture of several lines over one scale."""

    name: str
    unit: str  # "share", "count", "days", or "length" in nanometres
    lines: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Histogram:
    """How often each size came, with the window that it was to keep; lengths around the aim."""

    name: str
    bins: tuple[tuple[Length, int], ...]  # the middle of each, and how many
    width: Length
    least: Length
    most: Length


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of the office over a period."""

    key: str
    title: str
    definition: str
    count: int
    cases: str  # what was counted
    said: tuple[str, ...]
    pictures: tuple[Spans | Histogram, ...]
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    few: bool = False
    way_on: tuple[str, str] | None = None
