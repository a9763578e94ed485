"""A ring set's page: rings as read, the bores worked from them, and what is still asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlmodel import Session, col, select

from app.calc.errors import CalculationError
from app.calc.ring import RingSetFit, TaggedRing, ring_set_fit
from app.calc.units import Length
from app.forms.cells import Cell
from app.models.crib import Instrument, InstrumentCheck
from app.models.customer import Customer
from app.models.head import Head
from app.models.job import Job
from app.models.ring import RingSet
from app.queries.gauges import Gauge
from app.workflow.doubtful import Odd, odd_interference, odd_label
from app.workflow.grids import FIRST_RING, Column
from app.workflow.kinds import InstrumentKind, Quantity, Unit
from app.workflow.ring_duty import DutyQuestion
from app.workflow.shop_rules import ShopRules
from app.workflow.words import LabelMeans, Work, listed
from app.worksheets.cells import cells_of
from app.worksheets.facts import HeadSheet, load_sheets
from app.worksheets.fits import Fit, fits_of, fits_sources
from app.worksheets.gauges_today import Today, Warmth, rings_today, target_today
from app.worksheets.interference import rules_in_force
from app.worksheets.ring_duty import questions_of
from app.worksheets.ring_sets import RingRow, SetWorking, load_set
from app.worksheets.shop_rules import current_rules
from app.worksheets.targets import PortTarget, fit_of, port_target


@dataclass(frozen=True)
class RingLine:
    """One ring with its fields."""

    row: RingRow
    cells: tuple[Cell, ...]
    can_have_more: bool

    def of(self, quantity: str) -> list[Cell]:
        """The fields of one quantity."""
        return [cell for cell in self.cells if cell.column.quantity.value == quantity]


@dataclass(frozen=True)
class BoreGroup:
    """Positions that share one bore: the working is shown once for them."""

    targets: tuple[PortTarget, ...]
    fit: RingSetFit | None
    today: Today | None = None  # what the gauge should read of that bore, where it differs

    @property
    def first(self) -> PortTarget:
        """Whose working is shown."""
        return self.targets[0]

    @property
    def names(self) -> str:
        """``2E and 3E``."""
        return listed([target.name for target in self.targets])


@dataclass(frozen=True)
class GaugeChoice:
    """An instrument that reads rings, and what it was last zeroed on."""

    instrument: Instrument
    check: InstrumentCheck | None


@dataclass(frozen=True)
class RingSetView:
    """Everything on the page."""

    ring_set: RingSet
    working: SetWorking
    job: Job | None
    customer: Customer | None
    heads: tuple[Head, ...]
    lines: tuple[RingLine, ...]
    cells: tuple[Cell, ...]
    targets: tuple[PortTarget, ...]  # of its positions
    free: tuple[PortTarget, ...]  # positions of the job that get a ring and have no set yet
    groups: tuple[BoreGroup, ...]
    fits: tuple[Fit, ...]
    gauges: tuple[GaugeChoice, ...]
    rules: ShopRules
    open: tuple[str, ...]
    label_question: Odd | None
    odd_fit: Odd | None
    duty: tuple[DutyQuestion, ...]  # its material against what it is for
    kept_count: int
    kept_at: datetime | None
    # Tags of rings that read alike, and what a micrometer reads on them where it differs.
    rings_today: tuple[tuple[tuple[str, ...], Today], ...]

    @property
    def unit(self) -> Unit:
        """The unit of the page."""
        return self.ring_set.unit

    @property
    def read_at_c(self) -> float:
        """How warm the shop was when the rings were read; before any was, how warm it is."""
        read = next((line.row.readings for line in self.lines if line.row.readings.set), None)
        return read.shop_c if read else self.rules.number("temperature_c")

    @property
    def worked_from(self) -> str:
        """Which rings the figures are of, while others are open: ``, rings 1 and 2``."""
        tags = [row.tag for row in self.working.good]
        if len(tags) == len(self.working.rows):
            return ""
        return f", {'ring' if len(tags) == 1 else 'rings'} {listed(tags)}"

    @property
    def name(self) -> str:
        """``exhaust set``."""
        return f"{self.ring_set.name or self.ring_set.part or 'ring'} set"


def ring_cells(
    session: Session, ring_set: RingSet, more: frozenset[int], gauge: Gauge
) -> tuple[Cell, ...]:
    """Only the fields of a set: enough to read what was sent of them."""
    working = load_set(session, ring_set, current_rules(session))
    return tuple(
        cell
        for row in working.rows
        for cell in _line(row, ring_set, row.ring.id in more, gauge).cells
    )


def read_by(view: RingSetView, more: frozenset[int], gauge: Gauge) -> RingSetView:
    """The same page with the fields as this gauge reads them."""
    lines = tuple(
        _line(line.row, view.ring_set, line.row.ring.id in more, gauge) for line in view.lines
    )
    return replace(view, lines=lines, cells=tuple(cell for line in lines for cell in line.cells))


def show_set(
    session: Session, ring_set: RingSet, *, more: frozenset[int] = frozenset()
) -> RingSetView:
    """Gather the page; `more` names rings whose further places are shown."""
    rules = current_rules(session)
    working = load_set(session, ring_set, rules)
    job = session.get(Job, ring_set.job_id) if ring_set.job_id else None
    heads: Sequence[Head] = ()
    sheets: dict[int, HeadSheet] = {}
    if job is not None:
        heads = session.exec(
            select(Head).where(Head.job_id == job.id).order_by(col(Head.nth))
        ).all()
        sheets = load_sheets(session, heads)
    every = [target for sheet in sheets.values() for target in sheet.targets.values()]
    own = tuple(target for target in every if target.rows.port.ring_set_id == ring_set.id)
    lines = tuple(_line(row, ring_set, row.ring.id in more, None) for row in working.rows)
    worked = _by_good_rings(session, sheets, own)
    warmth = Warmth(rules.number("temperature_c"), rules.number("temperature_c"))
    groups = tuple(
        replace(group, today=target_today(session, group.first, warmth))
        for group in _groups(worked, rules, ring_set.unit.value)
    )
    return RingSetView(
        ring_set=ring_set,
        working=working,
        job=job,
        customer=session.get(Customer, job.customer_id) if job and job.customer_id else None,
        heads=tuple(heads),
        lines=lines,
        cells=tuple(cell for line in lines for cell in line.cells),
        targets=own,
        free=tuple(
            target
            for target in every
            if target.rows.port.ring_set_id is None and target.rows.port.work is Work.RING
        ),
        groups=groups,
        fits=fits_of(
            fits_sources(session, rules),
            sheets,
            [target for target in worked if target.target is not None],
        ),
        gauges=_gauges(session),
        rules=rules,
        open=_open(working, own, job),
        label_question=_label_question(working),
        odd_fit=_odd_fit(own),
        duty=questions_of(working, own),
        kept_count=sum(len(row.readings.counting) for row in working.rows),
        rings_today=rings_today(working, warmth),
        kept_at=max(
            (at for row in working.rows if (at := row.readings.newest_kept_at) is not None),
            default=None,
        ),
    )


def _line(row: RingRow, ring_set: RingSet, shows_more: bool, gauge: Gauge | None) -> RingLine:
    wanted = row.wanted
    columns: tuple[Column, ...] = (
        FIRST_RING
        if shows_more
        else tuple(
            column
            for column in FIRST_RING
            if column in wanted or row.readings.at(column.quantity, column.place) is not None
        )
    )
    return RingLine(
        row=row,
        cells=tuple(
            cell for column in columns for cell in _cells(row, column, ring_set.unit, gauge)
        ),
        can_have_more=len(columns) < len(FIRST_RING),
    )


def _cells(row: RingRow, column: Column, unit: Unit, gauge: Gauge | None) -> tuple[Cell, ...]:
    """The gauge that is named reads outside diameters; heights have another."""
    of_gauge = gauge if column.quantity is Quantity.RING_OD else None
    return cells_of(
        row.readings,
        (column,),
        about=f"ring {row.tag}",
        unit=of_gauge.unit if of_gauge else unit,
        comparator=of_gauge.comparator if of_gauge else None,
    )


def _by_good_rings(
    session: Session, sheets: Mapping[int, HeadSheet], targets: Sequence[PortTarget]
) -> list[PortTarget]:
    """Targets as they stand; while a ring is open, worked from the others to look at."""
    found = list(targets)
    waiting = [target for target in found if target.target is None and _has_good(target)]
    if not waiting:
        return found
    in_force = rules_in_force(session)
    for target in waiting:
        assert target.set_working is not None
        good = replace(target.set_working, rows=target.set_working.good)
        rows = sheets[target.head.id].rows
        found[found.index(target)] = port_target(rows, target.rows, good, in_force)
    return found


def _has_good(target: PortTarget) -> bool:
    working = target.set_working
    return working is not None and bool(working.good) and target.rows.port.ring_id is None


def _groups(targets: Sequence[PortTarget], rules: ShopRules, unit: str) -> tuple[BoreGroup, ...]:
    """Positions with the same figures together; each with what its rings would have there."""
    by_figures: dict[tuple[object, ...], list[PortTarget]] = {}
    for target in targets:
        if target.target is None:
            continue
        key = (
            target.rows.port.ring_id,
            target.target.target_bore,
            target.window,
            target.depth and target.depth.depth,
        )
        by_figures.setdefault(key, []).append(target)
    return tuple(
        BoreGroup(tuple(group), _fit(group[0], rules, unit)) for group in by_figures.values()
    )


def _fit(target: PortTarget, rules: ShopRules, unit: str) -> RingSetFit | None:
    rings = [TaggedRing(row.tag, row.measured.od) for row in target.rings if row.measured]
    if target.window is None or target.target is None or not rings:
        return None
    try:
        return ring_set_fit(
            rings=rings,
            window=fit_of(target.window),
            uncertainty=Length(0),
            bore=_within(target),
            unit=unit,
        )
    except CalculationError:
        return None


def _within(target: PortTarget) -> Length:
    """Where it would be cut: a mean outside the window of one ring gives way to that window."""
    assert target.target is not None
    bore = target.target.target_bore
    if target.bore_low is None or target.bore_high is None:
        return bore
    return min(max(bore, target.bore_low), target.bore_high)


def _gauges(session: Session) -> tuple[GaugeChoice, ...]:
    found = session.exec(
        select(Instrument)
        .where(Instrument.kind == InstrumentKind.OD, col(Instrument.retired_at).is_(None))
        .order_by(col(Instrument.name))
    ).all()
    checks: dict[int, InstrumentCheck] = {}
    if found:
        for check in session.exec(
            select(InstrumentCheck)
            .where(col(InstrumentCheck.instrument_id).in_([each.id for each in found]))
            .order_by(col(InstrumentCheck.id))
        ):
            checks[check.instrument_id] = check
    return tuple(GaugeChoice(each, checks.get(each.id)) for each in found)


def _open(working: SetWorking, targets: Sequence[PortTarget], job: Job | None) -> tuple[str, ...]:
    """What keeps the next step waiting."""
    if not working.rows:
        return ("no rings in this set",)
    words = list(working.open_words)
    if job is not None and not targets:
        words.append("choose its positions")
    for target in targets:
        words += [why for why in target.open if why not in working.open_words]
    return tuple(dict.fromkeys(words))


def _label_question(working: SetWorking) -> Odd | None:
    question = working.label
    # Asked once: an answer stays, whatever it is.
    answered = working.ring_set.label_means is not LabelMeans.UNKNOWN
    if question is None or not question.asks or answered:
        return None
    return odd_label(question.differences[0], working.ring_set.unit)


def _odd_fit(targets: Sequence[PortTarget]) -> Odd | None:
    for target in targets:
        if target.window is not None and target.target is not None:
            od = target.target.target_bore + target.window.aim
            odd = odd_interference(target.window.aim, od)
            if odd is not None:
                return odd
    return None


def quantity_headings() -> list[tuple[str, str]]:
    """The groups of fields of a ring, in order."""
    return [
        (Quantity.RING_OD.value, "Outside diameter"),
        (Quantity.RING_HEIGHT.value, "Height"),
        (Quantity.RING_ID.value, "Inside"),
    ]
