"""Open points of one page, and those closed by "not done, because …"."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from app.workflow.gates import AskedPoint, Gate, asked_points
from app.workflow.requirements import told_together
from app.worksheets.facts import HeadSheet

_GATES = (Gate.METAL_OFF, Gate.HAND_OVER, None)


@dataclass(frozen=True, slots=True)
class OpenKey:
    """What a reason may close here: its key, its words, and the positions where it is open."""

    key: str
    screen: str
    at: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class Reason:
    """A point closed by a reason at some positions: shown as large as a result."""

    key: str
    screen: str
    labels: tuple[str, ...]
    port_ids: tuple[int, ...]
    because: str


def open_words(sheet: HeadSheet, keys: Sequence[str]) -> tuple[str, ...]:
    """What is open, positions of one point in one line."""
    return told_together(point for point in _asked(sheet, keys) if not point.is_closed)


def open_keys(sheet: HeadSheet, keys: Sequence[str]) -> list[OpenKey]:
    """What may be closed by a reason."""
    ids = _ids(sheet)
    found: dict[str, list[AskedPoint]] = {}
    for point in _asked(sheet, keys):
        if not point.is_closed and point.requirement.may_be_not_done and point.label:
            found.setdefault(point.key, []).append(point)
    return [
        OpenKey(
            key,
            points[0].requirement.screen,
            tuple((ids[point.label], point.label) for point in points if point.label),
        )
        for key, points in found.items()
    ]


def reasons(sheet: HeadSheet, keys: Sequence[str]) -> list[Reason]:
    """What was closed by a reason, alike ones together."""
    ids = _ids(sheet)
    found: dict[tuple[str, str], list[AskedPoint]] = {}
    for point in _asked(sheet, keys):
        if point.is_closed and not point.point.is_closed_by_value:
            found.setdefault((point.key, point.point.told), []).append(point)
    return [
        Reason(
            key,
            points[0].requirement.screen,
            tuple(point.label for point in points if point.label),
            tuple(ids[point.label] for point in points if point.label),
            because,
        )
        for (key, because), points in found.items()
    ]


def _asked(sheet: HeadSheet, keys: Sequence[str]) -> Iterator[AskedPoint]:
    for gate in _GATES:
        for point in asked_points(gate, sheet.facts):
            if point.key in keys:
                yield point


def _ids(sheet: HeadSheet) -> dict[str, int]:
    return {rows.label: rows.port.id for rows in sheet.rows.ports}
