"""A head's facts to the head map: the same drawing on every page."""

from __future__ import annotations

from collections.abc import Callable, Collection

from app.calc.units import Length
from app.models.head import Port
from app.web.drawing import HeadMap, MapPosition, head_map
from app.web.drawing.head_map import NOT_NAMED, Half, Turn
from app.web.drawing.stage_ring import StageState as Drawn
from app.workflow.kinds import Quantity
from app.workflow.stages import PortStage, stages_of
from app.workflow.words import Stage, StageState, VerifyPart, Work
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows

_ARCS = (Stage.INTAKE, Stage.MEASURE, Stage.SET, Stage.CUT, Stage.VERIFY)
_DRAWN: dict[StageState, Drawn] = {
    StageState.DONE: "done",
    StageState.NOW: "now",
    StageState.TO_COME: "to_come",
}


def map_of(
    sheet: HeadSheet,
    *,
    href: Callable[[Port], str | None] = lambda _port: None,
    here: int | None = None,
    turned: Turn = 0,
    half: Half | None = None,
    as_buttons: bool = False,
    only: Collection[int] | None = None,
) -> HeadMap | None:
    """The map of a head; None while its layout is not known. `here` is a position's id.

    With `only`, these positions are drawn with their stage; the others stay plain circles.
    """
    if not sheet.rows.ports:
        return None
    at = stages_of(sheet.facts)
    positions = [
        MapPosition(
            label=rows.label,
            port_id=rows.port.id,
            cylinder=rows.port.cylinder,
            kind=rows.port.kind.value,
            row=rows.port.row,
            work=rows.port.work.screen if only is None or rows.port.id in only else NOT_NAMED,
            stages=_arcs(at[rows.label]),
            ring_in=rows.port.work is Work.RING and at[rows.label].has(VerifyPart.RING_IN),
            on_hold=at[rows.label].on_hold,
            is_here=rows.port.id == here,
            href=href(rows.port),
            size=_size(rows),
        )
        for rows in sheet.rows.ports
    ]
    return head_map(
        positions,
        sheet.head.numbered_from or "numbering end not stated",
        turned=turned,
        half=half,
        as_buttons=as_buttons,
    )


def _arcs(at: PortStage) -> tuple[Drawn, ...]:
    return tuple(_DRAWN[at.arc(stage) or StageState.TO_COME] for stage in _ARCS)


def _size(rows: PortRows) -> float | None:
    """What is known of a position's size: its counterbore, else the valve, in millimetres."""
    if rows.port_pass is not None:
        return _mm(rows.port_pass.target_bore)
    heads = rows.pockets.values(Quantity.VALVE_HEAD) if rows.pockets else []
    return _mm(heads[-1]) if heads else None


def _mm(length: Length) -> float:
    return length.nm / 1_000_000
