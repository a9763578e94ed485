"""The grid of guides: decided, measured by bore or by rocking, and tried with a pilot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, ClassVar
from urllib.parse import urlencode

from app.calc.units import spread
from app.forms.guides import DONE, GuidesForm
from app.models.crib import Pilot
from app.queries.grids import GridView
from app.web.head_grids import HeadGrid, Section
from app.workflow.grids import (
    GUIDE_BORES,
    GUIDE_BOTH_WAYS,
    GUIDE_ROCKING,
    PILOT_REACH,
    VALVE_STEM,
    Column,
)
from app.workflow.guide_outcomes import ASKED, GuideOutcome
from app.workflow.kinds import InstrumentKind, Quantity, ReadingKind
from app.workflow.words import GuideMethod, Work
from app.worksheets.guides import (
    clearance_doubts,
    clearance_of,
    guide_remarks,
    outcome,
    rocking_of,
    shape_of,
)
from app.worksheets.head_doubts import HeadDoubt, guide_doubts
from app.worksheets.head_rows import PortRows
from app.worksheets.new_guides import is_pressed_in
from app.worksheets.pilots import fit_in_guide
from app.worksheets.readings import Readings

# Where one bore is enough, its place goes without saying.
ONE_BORE = (replace(GUIDE_BORES[0], heading="Bore"),)
# In the address and in hidden fields: every height, or every height both ways.
PLACES = ("all", "both")


class Guides(HeadGrid):
    """One method a page: a rocking figure is never held against a bore."""

    path: ClassVar[str] = "guides"
    title: ClassVar[str] = "Guides"
    kind: ClassVar[ReadingKind] = ReadingKind.GUIDES
    also: ClassVar[tuple[ReadingKind, ...]] = (ReadingKind.NEW_GUIDES,)
    keys: ClassVar[tuple[str, ...]] = ("guides",)
    onward: ClassVar[tuple[str, str]] = ("Next: old pockets", "pockets")
    template: ClassVar[str] = "grids/guides.html"
    wide_remarks: ClassVar[bool] = True

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
        places = self._places(ports)
        columns = {"both": GUIDE_BOTH_WAYS, "all": GUIDE_BORES}.get(places, ONE_BORE)
        columns = (*columns, *VALVE_STEM)
        if self._has_reach(ports):
            columns = (*columns, *PILOT_REACH)
        worked = "pilot clear" if self._pilot() else "clear of stem"
        return [Section(columns, asked, worked=worked)] if asked else []

    def kind_of(self, column: Column) -> ReadingKind:
        return ReadingKind.NEW_GUIDES if column.quantity is Quantity.STEM else self.kind

    def read_here(self, rows: PortRows) -> tuple[Readings | None, ...]:
        stems = rows.new_guides.only(Quantity.STEM) if rows.new_guides else None
        return (rows.guides, stems)

    def doubts(self, view: GridView) -> tuple[HeadDoubt, ...]:
        ports = view.sheet.rows.ports
        apart = guide_doubts(ports, view.rules)
        told = {each.doubt.reading_id for each in apart}
        odd = clearance_doubts(ports, view.rules)
        return (*apart, *(each for each in odd if each.doubt.reading_id not in told))

    def beside(self, view: GridView, rows: PortRows) -> tuple[str, str]:
        bores = rows.guides.values(Quantity.GUIDE_BORE) if rows.guides else []
        rocking = rocking_of(rows, view.rules)
        if self.how(view.sheet.rows.ports) is GuideMethod.ROCKING:
            told = [rocking.told(view.unit)] if rocking else []
            told += [f"bore {bore.shown(view.unit)}" for bore in bores[-1:]]
            return "", "; ".join(told)
        remarks = guide_remarks(rows, view.rules, view.unit)
        if rocking is not None:
            remarks.append(f"{rocking.found.shown(view.unit)} by rocking, another kind of figure")
        if len(bores) > 1 and shape_of(rows, view.rules, view.unit) is None:
            remarks.append(f"bores within {spread(bores).shown(view.unit)}")
        pilot = self._pilot()
        if pilot is not None:
            if not bores or rows.guides is None:
                return "", "; ".join(remarks)
            fit, said = fit_in_guide(pilot, rows.guides, view.unit)
            return fit, "; ".join(filter(None, [said, *remarks]))
        clear = clearance_of(rows, view.rules, view.unit)
        return (clear.found.most.shown(view.unit) if clear else ""), "; ".join(remarks)

    def more(self, view: GridView) -> dict[str, Any]:
        decisions: dict[int, str] = {}
        whats: dict[int, str] = {}
        for rows in view.sheet.rows.ports:
            if rows.guide_work is not None:
                decisions[rows.port.id] = outcome(rows) or ""
                whats[rows.port.id] = rows.guide_work.what
        if self.decided is not None:
            decisions |= self.decided.decisions
        return {
            "decisions": decisions,
            "replaced": None,
            "tried": None,
            "whats": whats,
            "outcomes": [(each.value, each.screen) for each in ASKED],
            "unsaid": GuideOutcome.SERVICED,
            "how": self.how(view.sheet.rows.ports),
            "places": self._places(view.sheet.rows.ports),
            "done": DONE,
            "goes_in": [rows.label for rows in view.sheet.rows.ports if is_pressed_in(rows)],
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

    def _places(self, ports: Sequence[PortRows]) -> str:
        """One bore, all three heights, or all of them both ways: as asked for or as read."""
        asked = self.asked.get("places", "")
        read = [kept.place for rows in ports if rows.guides for kept in rows.guides.counting]
        if asked == "both" or any(place.endswith("-along") for place in read):
            return "both"
        return "all" if asked == "all" or any(place in _LOWER for place in read) else ""

    def _has_reach(self, ports: Sequence[PortRows]) -> bool:
        if self.asked.get("pilot"):
            return True
        read = [rows.guides for rows in ports if rows.guides]
        return any(each.of(Quantity.GUIDE_LENGTH) or each.of(Quantity.OVERHANG) for each in read)


_LOWER = ("middle", "bottom")
