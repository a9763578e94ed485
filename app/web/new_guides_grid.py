"""The grid of new guides and sleeves: their grip in the head, and how high they stand."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar

from app.queries.grids import GridView
from app.web.head_grids import HeadGrid, Section
from app.workflow.cautions import Caution
from app.workflow.grids import NEW_GUIDE, Column
from app.workflow.kinds import InstrumentKind, ReadingKind
from app.worksheets.guides import bores, ream_of, ream_told
from app.worksheets.head_doubts import HeadDoubt
from app.worksheets.head_rows import PortRows
from app.worksheets.materials import MaterialFigures
from app.worksheets.new_guides import Grip, grip_doubts, grip_of, height_of, is_pressed_in

CAUTIONED = ("hot_head", "pressing_guides")


class NewGuides(HeadGrid):
    """Only positions that a part is pressed into; their grip is judged like a seat ring's."""

    path: ClassVar[str] = "new-guides"
    title: ClassVar[str] = "New guides"
    kind: ClassVar[ReadingKind] = ReadingKind.NEW_GUIDES
    onward: ClassVar[tuple[str, str]] = ("Next: ream and measure the guides", "guides")
    template: ClassVar[str] = "grids/new_guides.html"
    needs_whole_head: ClassVar[bool] = True
    wide_remarks: ClassVar[bool] = True
    gauges = (InstrumentKind.OD, InstrumentKind.BORE, InstrumentKind.GUIDE, InstrumentKind.OTHER)
    turned = 0

    def __init__(self, asked: Any) -> None:
        super().__init__(asked)
        # Filled by the page, which has the shop's materials and rules at hand.
        self.figures: MaterialFigures | None = None
        self.cautions: tuple[Caution, ...] = ()

    def sections(self, ports: Sequence[PortRows]) -> list[Section]:
        asked = tuple(rows for rows in ports if is_pressed_in(rows))
        columns: tuple[Column, ...] = NEW_GUIDE
        return [Section(columns, asked, worked="grip")] if asked else []

    def doubts(self, view: GridView) -> tuple[HeadDoubt, ...]:
        return grip_doubts(view.sheet.rows.ports)

    def beside(self, view: GridView, rows: PortRows) -> tuple[str, str]:
        grip = self._grip(view, rows)
        height = height_of(rows, view.rules)
        ream = None if bores(rows) else ream_of(rows, view.rules, view.unit)
        told = [
            grip.told(view.unit) if grip else "",
            height.told(view.unit) if height else "",
            ream_told(ream, view.unit) if ream else "",
        ]
        found = grip.found.interference.shown(view.unit) if grip and grip.found else ""
        return found, "; ".join(filter(None, told))

    def open_words(self, view: GridView) -> list[str]:
        grips = ((rows.label, self._grip(view, rows)) for rows in view.sheet.rows.ports)
        return [f"{label}: {grip.open}" for label, grip in grips if grip and grip.open]

    def more(self, view: GridView) -> dict[str, Any]:
        grips = [(rows.label, self._grip(view, rows)) for rows in view.sheet.rows.ports]
        return {
            "cautions": self.cautions,
            "workings": [
                (label, grip.found.working) for label, grip in grips if grip and grip.found
            ],
        }

    def _grip(self, view: GridView, rows: PortRows) -> Grip | None:
        return grip_of(rows, self.figures, view.rules, view.unit)
