"""The grid of guides: decided, measured by bore or by rocking, and tried with a pilot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, ClassVar
from urllib.parse import urlencode

from app.calc.units import spread
from app.forms.guides import GuidesForm
from app.models.crib import Pilot
from app.queries.grids import GridView
from app.web.head_grids import HeadGrid, Section
from app.workflow.grids import GUIDE_BORES, GUIDE_ROCKING, PILOT_REACH, Column
from app.workflow.kinds import InstrumentKind, Quantity, ReadingKind
from app.workflow.words import GuideDecision, GuideMethod, Work
from app.worksheets.head_doubts import HeadDoubt, guide_doubts
from app.worksheets.head_rows import PortRows
from app.worksheets.pilots import fit_in_guide

# Where one bore is enough, its place goes without saying.
ONE_BORE = (replace(GUIDE_BORES[0], heading="Bore"),)
SERVICED = ("new guide", "liner", "knurled and reamed", "reamed for an oversize stem")


class Guides(HeadGrid):
    """One method a page: a rocking figure is never held against a bore."""

    path: ClassVar[str] = "guides"
    title: ClassVar[str] = "Guides"
    kind: ClassVar[ReadingKind] = ReadingKind.GUIDES
    keys: ClassVar[tuple[str, ...]] = ("guides",)
    onward: ClassVar[tuple[str, str]] = ("Next: old pockets", "pockets")
    template: ClassVar[str] = "grids/guides.html"

    def __init__(self, asked: Mapping[str, str], decided: GuidesForm | None = None) -> None:
        super().__init__(asked)
        self.decided = decided
        said = asked.get("method", "")
        self.said = GuideMethod(said) if said in (GuideMethod.BORE, GuideMethod.ROCKING) else None
        self.gauges = (
            (InstrumentKind.RUN_OUT, InstrumentKind.OTHER)
            if self.said is GuideMethod.ROCKING
            else (InstrumentKind.GUIDE, InstrumentKind.BORE, InstrumentKind.OTHER)
        )
        if asked.get("pilot") or asked.get("places"):
            self.turned = 0  # more columns than stand beside the map
        # Filled by the page, which has the crib at hand.
        self.pilots: list[Pilot] = []

    def how(self, ports: Sequence[PortRows]) -> GuideMethod:
        """As asked for, else as the guides were read before."""
        if self.said is not None:
            return self.said
        read = [rows.guides for rows in ports if rows.guides]
        bores = any(each.of(Quantity.GUIDE_BORE) for each in read)
        rocking = any(each.of(Quantity.GUIDE_ROCKING) for each in read)
        return GuideMethod.ROCKING if rocking and not bores else GuideMethod.BORE

    def method(self) -> str:
        return (self.said or GuideMethod.BORE).value

    def here(self, head_id: int) -> str:
        kept = {
            name: self.asked[name] for name in ("method", "places", "pilot") if self.asked.get(name)
        }
        return f"/heads/{head_id}/guides" + (f"?{urlencode(kept)}" if kept else "")

    def sections(self, ports: Sequence[PortRows]) -> list[Section]:
        asked = tuple(rows for rows in ports if rows.port.work is not Work.LEAVE)
        if self.how(ports) is GuideMethod.ROCKING:
            columns: tuple[Column, ...] = GUIDE_ROCKING
            return [Section(columns, asked)] if asked else []
        columns = GUIDE_BORES if self._has_places(ports) else ONE_BORE
        if self._has_reach(ports):
            columns = (*columns, *PILOT_REACH)
        worked = "pilot clear" if self._pilot() else "within" if len(columns) > 1 else ""
        return [Section(columns, asked, worked=worked)] if asked else []

    def doubts(self, view: GridView) -> tuple[HeadDoubt, ...]:
        return guide_doubts(view.sheet.rows.ports, view.rules)

    def beside(self, view: GridView, rows: PortRows) -> tuple[str, str]:
        bores = rows.guides.values(Quantity.GUIDE_BORE) if rows.guides else []
        rocking = rows.guides.one(Quantity.GUIDE_ROCKING) if rows.guides else None
        remark = ""
        if self.how(view.sheet.rows.ports) is GuideMethod.ROCKING:
            remark = f"bore {bores[-1].shown(view.unit)}" if bores else ""
            return "", remark
        if rocking is not None:
            remark = f"{rocking.shown(view.unit)} by rocking, another kind of figure"
        pilot = self._pilot()
        if pilot is not None and bores and rows.guides is not None:
            fit, said = fit_in_guide(pilot, rows.guides, view.unit)
            return fit, "; ".join(filter(None, [said, remark]))
        return (spread(bores).shown(view.unit) if len(bores) > 1 else ""), remark

    def more(self, view: GridView) -> dict[str, Any]:
        decisions: dict[int, str] = {}
        whats: dict[int, str] = {}
        for rows in view.sheet.rows.ports:
            if rows.guide_work is not None:
                decisions[rows.port.id] = rows.guide_work.decision
                whats[rows.port.id] = rows.guide_work.what
        if self.decided is not None:
            decisions |= self.decided.decisions
        return {
            "decisions": decisions,
            "replaced": None,
            "tried": None,
            "whats": whats,
            "guide_words": list(GuideDecision),
            "how": self.how(view.sheet.rows.ports),
            "has_places": self._has_places(view.sheet.rows.ports),
            "serviced_with": SERVICED,
            "pilots": [(each.id, each.name) for each in self.pilots],
            "pilot": self._pilot(),
            "serviced": [
                rows
                for rows in view.sheet.rows.ports
                if rows.guide_work is not None and rows.port.work is not Work.LEAVE
            ],
        }

    def _pilot(self) -> Pilot | None:
        said = self.asked.get("pilot", "")
        return next((each for each in self.pilots if str(each.id) == said), None)

    def _has_places(self, ports: Sequence[PortRows]) -> bool:
        if self.asked.get("places") == "all":
            return True
        read = [rows.guides for rows in ports if rows.guides]
        return any(each.at(Quantity.GUIDE_BORE, place) for each in read for place in _LOWER)

    def _has_reach(self, ports: Sequence[PortRows]) -> bool:
        if self.asked.get("pilot"):
            return True
        read = [rows.guides for rows in ports if rows.guides]
        return any(each.of(Quantity.GUIDE_LENGTH) or each.of(Quantity.OVERHANG) for each in read)


_LOWER = ("middle", "bottom")
