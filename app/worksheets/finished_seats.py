"""Finished seats: what their ring and valve leave possible, and what a shop rule questions."""

from __future__ import annotations

from app.calc.seat import sloping_nm
from app.calc.units import Length
from app.workflow.kinds import Quantity, Unit
from app.workflow.seats import size_words
from app.workflow.shop_rules import ShopRules
from app.worksheets.cells import Bound
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows
from app.worksheets.seat_plans import width_window
from app.worksheets.seats import ring_edges
from app.worksheets.sinking import sinking, sunk_asks


def land_bound(sheet: HeadSheet, rows: PortRows, angle_deg: float) -> Bound | None:
    """A land along its slope is no wider than its ring; where the ring was read inside and out."""
    edges = ring_edges(sheet, rows)
    if edges.outside is None or edges.inside is None or edges.inside >= edges.outside:
        return None
    across = edges.outside - edges.inside
    most = Length.nearest(sloping_nm(across_nm=across.nm, angle_deg=angle_deg))
    unit = sheet.rows.job.job.unit
    return Bound(
        f"is wider than its seat ring, {size_words(most, unit)} along a slope of {angle_deg:g}°",
        most=most,
    )


def stem_bound(rows: PortRows, unit: Unit) -> Bound | None:
    """A stem stands no taller than its valve is long."""
    length = rows.valves.one(Quantity.VALVE_LENGTH) if rows.valves else None
    if length is None:
        return None
    return Bound(f"is taller than its valve, {length.shown(unit.value)} long", most=length)


def length_bound(rows: PortRows, unit: Unit) -> Bound | None:
    """A valve is longer than its stem stands."""
    stem = stem_now(rows)
    if stem is None:
        return None
    return Bound(f"is shorter than its stem stands, {stem.shown(unit.value)}", least=stem)


def stem_now(rows: PortRows) -> Length | None:
    """The newest stem height: after the seat was cut, else as it came in."""
    after = rows.finish.one(Quantity.STEM_AFTER) if rows.finish else None
    if after is not None:
        return after
    return rows.stems.one(Quantity.STEM_HEIGHT) if rows.stems else None


def finish_asks(rows: PortRows, rules: ShopRules, unit: Unit) -> list[str]:
    """What is asked about one finished seat."""
    found = []
    width = rows.finish.one(Quantity.SEAT_WIDTH) if rows.finish else None
    window = width_window(rows.port.kind, rules)
    if width is not None and not window.least <= width <= window.most:
        least, most = (size_words(end, unit) for end in (window.least, window.most))
        found.append(f"width outside {least} to {most}")
    run_out, limit = (
        rows.finish.one(Quantity.RUN_OUT) if rows.finish else None,
        rules.length("run_out_limit"),
    )
    if run_out is not None and run_out > limit:
        found.append(f"run-out over {limit.shown(unit.value)}")
    return [*found, *sunk_asks(rows, sinking(rows, unit.value), rules, unit.value)]
