"""The whole-head grids: positions in true order along the head, one run of fields."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from sqlmodel import Session
from starlette.requests import Request
from starlette.responses import Response

from app.calc.units import Length
from app.db import Database
from app.forms.readings import Entry, GridForm, ReadWithForm
from app.models.base import Row
from app.queries.gauges import Gauge, gauge_of, last_read_with
from app.queries.grids import GridView, grid_view
from app.queries.people import readers
from app.services.owned import open_head, the_head
from app.services.readings import ReadWith, record_readings
from app.services.write import Write
from app.web.answers import done
from app.web.bench_page import bench_map, half_href, strip_words
from app.web.deps import Sent
from app.web.grids import (
    GridRow,
    Group,
    Keeping,
    fields_of,
    keep,
    kept_words,
    on_record,
    read_with_as_kept,
)
from app.web.reasons import open_keys, open_words, reasons
from app.web.render import asks_beside, is_partial, page, when_words
from app.workflow.grids import Column
from app.workflow.kinds import InstrumentKind, Quantity, ReadingKind, Unit
from app.workflow.permissions import Verb
from app.workflow.words import Work
from app.worksheets.cells import Bound, Cell, cells_of
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.head_doubts import HeadDoubt
from app.worksheets.head_rows import PortRows, load_read
from app.worksheets.readings import Readings, Subject, load_one

# The point that a reading of a quantity closes; a reason may close it instead.
_CLOSES = {
    Quantity.STEM_HEIGHT: "stem_before",
    Quantity.GUIDE_BORE: "guides",
    Quantity.GUIDE_ROCKING: "guides",
    Quantity.OLD_BORE: "old_pocket",
    Quantity.OLD_RUN_OUT: "old_pocket",
    Quantity.OLD_DEPTH: "old_pocket",
    Quantity.WALL: "wall",
    Quantity.CENTRE_DISTANCE: "web",
    Quantity.SEAT_WIDTH: "seat_width",
    Quantity.RUN_OUT: "seat_run_out",
    Quantity.STEM_AFTER: "stem_after",
}


@dataclass(frozen=True)
class Section:
    """Positions that are asked the same columns."""

    columns: tuple[Column, ...]
    ports: tuple[PortRows, ...]
    title: str = ""
    worked: str = ""


class HeadGrid(ABC):
    """One page of readings along a head; a subclass says which, and what is worked beside them."""

    path: ClassVar[str]
    title: ClassVar[str]
    kind: ClassVar[ReadingKind]
    also: ClassVar[tuple[ReadingKind, ...]] = ()  # of other pages, shown and typed here too
    verb: ClassVar[Verb] = Verb.RECORD_READING
    keys: ClassVar[tuple[str, ...]] = ()
    onward: ClassVar[tuple[str, str]]
    gauges: tuple[InstrumentKind, ...] = ()
    template: ClassVar[str] = "grids/edit.html"
    turned: int = 90
    # What is read once for the whole head, beside the positions.
    head_columns: ClassVar[tuple[Column, ...]] = ()
    of_head: Readings | None = None
    said_template: ClassVar[str] = "grids/_said.html"
    wide_remarks: ClassVar[bool] = False
    # What is asked depends on more than the positions and this page's own readings.
    needs_whole_head: ClassVar[bool] = False

    def __init__(self, asked: Mapping[str, str]) -> None:
        self.asked = asked

    def kind_of(self, column: Column) -> ReadingKind:
        """Which page's readings a column belongs to; most pages show their own alone."""
        return self.kind

    @abstractmethod
    def sections(self, ports: Sequence[PortRows]) -> list[Section]:
        """Which positions are asked what."""

    def beside(self, view: GridView, rows: PortRows) -> tuple[str, str]:
        """What is worked out beside a row, and a remark under its name."""
        return "", ""

    def aside(self, view: GridView, rows: PortRows) -> tuple[str, str] | None:
        """Words and a figure, small under what is worked out."""
        return None

    def way(self, rows: PortRows) -> tuple[str, str, str] | None:
        """A link at the end of a row: its column's heading, its words, and where it leads."""
        return None

    def more(self, view: GridView) -> dict[str, Any]:
        """What else the page shows."""
        return {}

    def bounds(self, sheet: HeadSheet, rows: PortRows) -> Mapping[Quantity, Bound]:
        """What other readings of a position leave possible, where the whole head is needed."""
        return {}

    def doubts(self, view: GridView) -> tuple[HeadDoubt, ...]:
        """Readings to strike, or to keep with a reason, before one goes on."""
        return ()

    def method(self) -> str:
        """How it was read, kept with the readings."""
        return ""

    def open_words(self, view: GridView) -> Sequence[str]:
        """What is still open on this page, point by point."""
        return open_words(view.sheet, self.keys)

    def next_href(self, view: GridView) -> str:
        """Where one goes from here."""
        return f"/heads/{view.head.id}/{self.onward[1]}"

    def here(self, head_id: int) -> str:
        """This page's address."""
        return f"/heads/{head_id}/{self.path}"

    def readings(self, rows: PortRows) -> Readings | None:
        """What this page read on a position."""
        return rows.read(self.kind)

    def read_here(self, rows: PortRows) -> tuple[Readings | None, ...]:
        """All that is typed on this page, of whatever kind."""
        return (self.readings(rows),)


def show_grid(
    request: Request,
    db: Database,
    head_id: int,
    grid: HeadGrid,
    sent: Keeping | None = None,
    *,
    template: str = "",
    **more: Any,
) -> Response:
    """The page, or after a sending only what changed beside the fields."""
    with db.read() as session:
        view = grid_view(session, *the_head(session, head_id), grid.gauges)
        if sent is None and asks_beside(request):
            sent = Keeping(GridForm({}, ()), ReadWithForm(request.query_params, view.job.unit))
        read_with, gauge = _gauge_now(session, view, grid, sent)
        people = readers(session)
        _load_of_head(session, head_id, grid)
    form = sent.form if sent else None
    if asks_beside(request):
        template = grid.said_template
    read = [(rows.label, each) for rows in view.sheet.rows.ports for each in grid.read_here(rows)]
    read.append(("the head", grid.of_head))
    drawn = bench_map(
        request,
        view.sheet,
        here=None,
        turned=grid.turned,
        href=lambda port: f"#row-{port.id}",
    )
    doubts = grid.doubts(view)
    zone = ZoneInfo(request.state.shop.zone)
    today = datetime.now(zone).date()
    return page(
        request,
        template or grid.template,
        sent.status if sent else 200,
        nav="bench",
        grid=grid,
        view=view,
        who=strip_words(view.job, view.head, view.customer),
        map=drawn,
        half_href=half_href(request, drawn),
        groups=_groups(
            view, grid, gauge, form, frozenset(each.doubt.reading_id for each in doubts)
        ),
        head_fields=fields_of(_head_cells(grid, view.job.unit), form),
        doubts=doubts,
        form=form,
        errors=form.errors if form else {},
        read_with=read_with,
        gauge=gauge,
        instruments=[(each.id, each.name) for each in view.instruments],
        readers=people,
        open_words=grid.open_words(view),
        open_keys=open_keys(view.sheet, grid.keys),
        reasons=reasons(view.sheet, grid.keys),
        record=on_record(read),
        kept=kept_words((each for _, each in read), lambda at: when_words(at, zone, today)),
        may_read=request.state.may(grid.verb) and not view.is_over,
        **(grid.more(view) | more),
    )


def update_grid(
    request: Request, db: Database, head_id: int, sent: Sent, grid: HeadGrid
) -> Response:
    """Keep the readings, then stay, go on, or answer with what changed beside the fields."""
    form, read_with = sent_grid(db, head_id, sent, grid)

    def change(tx: Write, entries: list[Entry], with_what: ReadWith) -> Row:
        return record_readings(tx, open_head(tx, head_id)[1], entries, with_what)

    kept = keep(request, sent, form, read_with, change, method=grid.method())
    return answer_grid(request, db, head_id, sent, grid, kept)


def answer_grid(
    request: Request,
    db: Database,
    head_id: int,
    sent: Sent,
    grid: HeadGrid,
    kept: Keeping,
    stay: str = "",
) -> Response:
    """Where a sending of a grid leads."""
    if is_partial(request):
        return show_grid(request, db, head_id, grid, kept, template=grid.said_template)
    if kept.status != 200:
        return show_grid(request, db, head_id, grid, kept)
    if sent.fields.get("then") == "next":
        with db.read() as session:
            view = grid_view(session, *the_head(session, head_id))
        if not grid.doubts(view):
            return done(request, grid.next_href(view))
    return done(request, stay or grid.here(head_id))


def sent_grid(
    db: Database, head_id: int, sent: Sent, grid: HeadGrid
) -> tuple[GridForm, ReadWithForm]:
    """The fields of the page as sent, read with the gauge as sent."""
    with db.read() as session:
        job, head = the_head(session, head_id)
        read_with = ReadWithForm(sent.fields, job.unit)
        gauge = gauge_of(session, read_with.instrument_id, read_with.zeroed_on, job.unit)
        sheet = load_sheet(session, head) if grid.needs_whole_head else None
        ports = sheet.rows.ports if sheet else load_read(session, head, grid.kind, *grid.also)
        cells = [
            cell
            for section in grid.sections(ports)
            for rows in section.ports
            for cell in _cells(grid, section, rows, gauge, sheet)
        ]
        _load_of_head(session, head_id, grid)
        cells += _head_cells(grid, job.unit)
    return GridForm(sent.fields, cells), read_with


def along(ports: Iterable[PortRows], works: Iterable[Work]) -> tuple[PortRows, ...]:
    """Positions that get one of these, as they lie."""
    wanted = set(works)
    return tuple(rows for rows in ports if rows.port.work in wanted)


def signed(length: Length, unit: str) -> str:
    """A difference as it is said: ``+.0020``, ``-.0010``, ``0``."""
    if not length:
        return "0"
    return f"{'+' if length.nm > 0 else ''}{length.shown(unit)}"


def _cells(
    grid: HeadGrid, section: Section, rows: PortRows, gauge: Gauge, sheet: HeadSheet | None = None
) -> tuple[Cell, ...]:
    found: list[Cell] = []
    bounds = grid.bounds(sheet, rows) if sheet else None
    for column in section.columns:
        kind = grid.kind_of(column)
        readings = rows.read(kind)
        assert readings is not None
        found += cells_of(
            readings,
            (column,),
            about=rows.label,
            unit=gauge.unit,
            # What the gauge was zeroed on says nothing of what another gauge reads.
            comparator=gauge.comparator if kind is grid.kind else None,
            bounds=bounds,
        )
    return tuple(found)


def _load_of_head(session: Session, head_id: int, grid: HeadGrid) -> None:
    if grid.head_columns:
        grid.of_head = load_one(session, grid.kind, Subject("head", head_id))


def _head_cells(grid: HeadGrid, unit: Unit) -> tuple[Cell, ...]:
    """Plain figures in the job's unit: no gauge compares them."""
    if grid.of_head is None:
        return ()
    return cells_of(grid.of_head, grid.head_columns, about="the head", unit=unit)


def _groups(
    view: GridView,
    grid: HeadGrid,
    gauge: Gauge,
    form: GridForm | None,
    odd: frozenset[int],
) -> tuple[Group, ...]:
    found = []
    for section in grid.sections(view.sheet.rows.ports):
        headings = tuple(column.heading for column in section.columns)
        # One quantity along the whole head, then the next: as one gauge is used.
        order = list(dict.fromkeys(column.quantity for column in section.columns))
        runs = [order.index(column.quantity) for column in section.columns]
        rows = []
        for port in section.ports:
            worked, remark = grid.beside(view, port)
            hints = [
                "not done" if port.not_done.get(_CLOSES.get(column.quantity, "")) else ""
                for column in section.columns
            ]
            cells = _cells(grid, section, port, gauge)
            fields = fields_of(cells, form, runs=runs, hints=hints, odd=odd)
            rows.append(
                GridRow(
                    key=str(port.port.id),
                    label=port.label,
                    small=_small(port),
                    fields=fields,
                    worked=worked,
                    remark=remark,
                    aside=grid.aside(view, port),
                    way=grid.way(port),
                )
            )
        found.append(
            Group(
                headings,
                tuple(rows),
                section.worked,
                section.title,
                gauge.unit.screen,
                grid.wide_remarks,
            )
        )
    return tuple(found)


def _small(rows: PortRows) -> str:
    return rows.port.work.screen


def _gauge_now(
    session: Session, view: GridView, grid: HeadGrid, sent: Keeping | None
) -> tuple[ReadWithForm, Gauge]:
    """The gauge as it was sent, else as the newest readings were taken."""
    unit = view.job.unit
    if sent is not None and sent.read_with is not None:
        form = sent.read_with
        return form, gauge_of(session, form.instrument_id, form.zeroed_on, unit)
    last = last_read_with(grid.readings(rows) for rows in view.sheet.rows.ports)
    shown = ReadWithForm.showing(read_with_as_kept(last, unit))
    if last is None:
        return shown, gauge_of(session, None, None, unit)
    return shown, gauge_of(session, last.with_instrument_id, last.zeroed_on, unit)
