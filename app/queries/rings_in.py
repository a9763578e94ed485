"""Rings to press: for each position the ring that may go in, and what keeps it out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from sqlmodel import Session, col, select

from app.models.customer import Customer
from app.models.head import Head
from app.models.job import Job
from app.models.port_pass import RingIn
from app.workflow.cautions import Caution, is_beryllium
from app.workflow.gates import Gate, open_points
from app.workflow.grids import RING_DOWN
from app.workflow.kinds import ReadingKind, Unit
from app.workflow.requirements import AskedPoint
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Work
from app.worksheets.cells import Cell, cells_of
from app.worksheets.cutting import StaleResult, clamped_up, heads_of, port_name, stale_of
from app.worksheets.down import Stand, stand_of
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.fits import Fit, fit_at, fits_sources
from app.worksheets.head_rows import PortRows
from app.worksheets.heats import HeatRows, heats_of
from app.worksheets.port_facts import is_warm
from app.worksheets.readings import Subject, load_readings
from app.worksheets.ring_sets import RingRow
from app.worksheets.shop_rules import current_rules

# The hazards of heat, cold and dust that stand where rings go in.
CAUTIONED = ("hot_head", "liquid_nitrogen", "dry_ice", "beryllium_copper")


@dataclass(frozen=True)
class RingToPress:
    """One position of the page."""

    rows: PortRows
    rings: tuple[RingRow, ...]
    may_be_mixed: bool
    shut: tuple[AskedPoint, ...]
    heights: tuple[Cell, ...]
    stale: Sequence[StaleResult]
    ring_in: RingIn | None
    ring_tag: str
    material: str
    stand: Stand | None = None

    @property
    def is_warm(self) -> bool:
        """Its head was heated with it, and is not recorded as cold."""
        return is_warm(self.rows) and "ring_seated" not in self.rows.not_done

    @property
    def is_ready(self) -> bool:
        """The gate asks for nothing but the ring in hand."""
        return not self.shut and self.ring_in is None


@dataclass(frozen=True)
class RingsInView:
    """The page of some positions of a head."""

    job: Job
    head: Head
    customer: Customer | None
    sheet: HeadSheet
    turned: int
    is_clamped: bool
    lines: tuple[RingToPress, ...]
    head_name: str  # where the job has several heads
    cautions: Mapping[str, Caution]
    rules: ShopRules
    heats: tuple[HeatRows, ...] = ()
    fits: tuple[Fit, ...] = ()  # of those that can go in now

    @property
    def ready(self) -> tuple[RingToPress, ...]:
        """Those that can go in now."""
        return tuple(line for line in self.lines if line.is_ready)

    @property
    def running(self) -> HeatRows | None:
        """The heat that is not over."""
        return next((heat for heat in self.heats if heat.is_open), None)

    @property
    def warm(self) -> tuple[RingToPress, ...]:
        """Those that wait for their cool-down."""
        return tuple(line for line in self.lines if line.is_warm)

    @property
    def has_beryllium(self) -> bool:
        """A ring of beryllium copper is among them: its dust is the hazard."""
        return any(is_beryllium(line.material) for line in self.lines)


def rings_in_view(
    session: Session, job: Job, head: Head, port_id: int | None = None
) -> RingsInView:
    """Gather the page for one position, or for all of a head that get a ring."""
    rules = current_rules(session)
    sheet = load_sheet(session, head)
    now = clamped_up(session, head.id)
    wanted = [
        rows
        for rows in sheet.rows.ports
        if rows.port.work is Work.RING and port_id in (None, rows.port.id)
    ]
    pass_ids = [rows.port_pass.id for rows in wanted if rows.port_pass]
    heights = load_readings(session, ReadingKind.RING_DOWN, "port_pass", pass_ids)
    in_elsewhere = _pressed_rings(session, sheet)
    view = RingsInView(
        job=job,
        head=head,
        customer=session.get(Customer, job.customer_id) if job.customer_id else None,
        sheet=sheet,
        turned=now.turned if now else 0,
        is_clamped=now is not None,
        lines=tuple(
            _line(
                sheet,
                rows,
                in_elsewhere,
                cells_of(heights[rows.port_pass.id], RING_DOWN, about=rows.label, unit=job.unit)
                if rows.port_pass
                else (),
                rules,
            )
            for rows in wanted
        ),
        head_name=port_name(head, "", heads_of(session, job.id)).head,
        cautions={key: rules.caution(key) for key in CAUTIONED},
        rules=rules,
        heats=heats_of(session, sheet),
    )
    if not view.ready:
        return view
    sources = fits_sources(session, rules)
    fits = (fit_at(sources, sheet, line.rows) for line in view.ready)
    return replace(view, fits=tuple(fit for fit in fits if fit is not None))


def height_cells(session: Session, rows: PortRows, unit: Unit) -> tuple[Cell, ...]:
    """The fields of the heights of a ring that is down."""
    if rows.port_pass is None:
        return ()
    subject = Subject("port_pass", rows.port_pass.id)
    found = load_readings(session, ReadingKind.RING_DOWN, "port_pass", [subject.id])[subject.id]
    return cells_of(found, RING_DOWN, about=rows.label, unit=unit)


def _line(
    sheet: HeadSheet,
    rows: PortRows,
    in_elsewhere: set[int],
    heights: tuple[Cell, ...],
    rules: ShopRules,
) -> RingToPress:
    target = sheet.targets.get(rows.port.id)
    working = target.set_working if target else None
    chosen = rows.port_pass.ring_id if rows.port_pass else None
    rings = tuple(
        row
        for row in (working.rows if working else ())
        if row.is_good and (chosen in (None, row.ring.id)) and row.ring.id not in in_elsewhere
    )
    tag = ""
    if rows.ring_in is not None and working is not None:
        tag = next((row.tag for row in working.rows if row.ring.id == rows.ring_in.ring_id), "")
    return RingToPress(
        rows=rows,
        rings=rings,
        may_be_mixed=chosen is None and working is not None and not working.open_words,
        shut=tuple(
            point
            for point in open_points(Gate.RING_IN, sheet.facts, [rows.label])
            if point.key != "ring_in_hand"
        ),
        heights=heights,
        stale=stale_of(rows, sheet),
        ring_in=rows.ring_in,
        ring_tag=tag,
        material=f"{working.material.name} {working.material.family}" if working else "",
        stand=stand_of(heights, rules),
    )


def _pressed_rings(session: Session, sheet: HeadSheet) -> set[int]:
    """Rings of these sets that are in somewhere: each can go in once."""
    ids = [
        row.ring.id
        for target in sheet.targets.values()
        if target.set_working
        for row in target.set_working.rows
    ]
    is_in: dict[tuple[int, int], bool] = {}
    for row in session.exec(
        select(RingIn).where(col(RingIn.ring_id).in_(ids)).order_by(col(RingIn.id))
    ):
        is_in[row.port_pass_id, row.ring_id] = not row.withdrawn
    return {ring_id for (_, ring_id), pressed in is_in.items() if pressed}
