"""Stem heights along a head, read before anything is cut."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any, ClassVar

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.calc.units import Length
from app.queries.grids import GridView
from app.web.access import may
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.head_grids import HeadGrid, Section, show_grid, signed, update_grid
from app.workflow.grids import BELOW_DECK, PROUD, STEM_HEIGHTS
from app.workflow.kinds import InstrumentKind, Quantity, ReadingKind
from app.workflow.permissions import Verb
from app.worksheets.head_doubts import HeadDoubt, stem_doubts
from app.worksheets.head_rows import PortRows
from app.worksheets.sinking import recession, too_deep

router = APIRouter()


class StemHeights(HeadGrid):
    """One height a position; beside it how far it stands from the others of its kind."""

    path: ClassVar[str] = "stem-heights"
    title: ClassVar[str] = "Stem heights, as it came in"
    kind: ClassVar[ReadingKind] = ReadingKind.STEM_HEIGHTS
    keys: ClassVar[tuple[str, ...]] = ("stem_before",)
    onward: ClassVar[tuple[str, str]] = ("Next: guides", "guides")
    template: ClassVar[str] = "grids/stem_heights.html"
    gauges = (
        InstrumentKind.HEIGHT,
        InstrumentKind.DEPTH,
        InstrumentKind.OTHER,
    )

    def __init__(self, asked: Mapping[str, str]) -> None:
        super().__init__(asked)
        self._middles: dict[str, Length] | None = None

    def sections(self, ports: Sequence[PortRows]) -> list[Section]:
        columns = (*STEM_HEIGHTS, *BELOW_DECK) if self._has_depths(ports) else STEM_HEIGHTS
        asked = tuple(ports)
        return [Section(columns, asked, worked="against the middle of its kind")] if asked else []

    def here(self, head_id: int) -> str:
        kept = "?below=deck" if self.asked.get("below") == "deck" else ""
        return f"{super().here(head_id)}{kept}"

    def more(self, view: GridView) -> dict[str, Any]:
        return {
            "has_depths": self._has_depths(view.sheet.rows.ports),
            "deepest": view.rules.length("recession_limit").shown(view.unit),
            "proud": PROUD[view.unit],
        }

    def _has_depths(self, ports: Sequence[PortRows]) -> bool:
        if self.asked.get("below") == "deck":
            return True
        return any(rows.stems and rows.stems.of(Quantity.RECESSION) for rows in ports)

    def doubts(self, view: GridView) -> tuple[HeadDoubt, ...]:
        return stem_doubts(view.sheet.rows.ports, view.rules)

    def beside(self, view: GridView, rows: PortRows) -> tuple[str, str]:
        told = ", ".join(too_deep(recession(rows.stems), view.rules, view.unit))
        if self._middles is None:
            self._middles = _middles(view)
        height = _height(rows)
        middle = self._middles.get(rows.port.kind)
        if height is None or middle is None:
            return "", told
        apart = height - middle
        return signed(apart, view.unit), told


def _middles(view: GridView) -> dict[str, Length]:
    """The middle height of each kind of valve, where at least three were read."""
    heights: dict[str, list[Length]] = {}
    for rows in view.sheet.rows.ports:
        height = _height(rows)
        if height is not None:
            heights.setdefault(rows.port.kind, []).append(height)
    return {kind: _middle(found) for kind, found in heights.items() if len(found) > 2}


def _middle(found: list[Length]) -> Length:
    ordered = sorted(found)
    low, high = ordered[(len(ordered) - 1) // 2], ordered[len(ordered) // 2]
    return Length.nearest(Fraction(low.nm + high.nm, 2))


def _height(rows: PortRows) -> Length | None:
    return rows.stems.one(Quantity.STEM_HEIGHT) if rows.stems else None


@router.get("/heads/{head_id}/stem-heights", dependencies=[may(Verb.READ)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return show_grid(request, db, head_id, StemHeights(request.query_params))


@router.post("/heads/{head_id}/stem-heights", dependencies=[may(Verb.RECORD_READING)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    return update_grid(request, db, head_id, sent, StemHeights(sent.fields))
