"""The shelf, the size list and the crib as tables to be written out."""

from __future__ import annotations

from sqlmodel import Session, col, select

from app.models.ring_size import RingSize
from app.queries.crib import Crib
from app.queries.figure_views import Cell, Column, Holds, Row
from app.queries.lists import AT_ONCE, Reads, paged
from app.queries.shelf import ShelfLine, WantedLine
from app.queries.spreadsheet import Table
from app.workflow.words import Material


def _size(name: str, places: int = 4) -> Column:
    return Column(name, Holds.LENGTH, places)


SHELF = (
    *map(Column, ("Number", "Name", "Supplier", "Lot", "Material", "Whose")),
    *(Column("Rings", Holds.COUNT), Column("Rings read", Holds.COUNT)),
    *map(_size, ("Box says outside", "Box says height", "Box says inside")),
    *(_size("Measured outside, mean", 5), _size("Spread")),
    *map(Column, ("Unit", "Place")),
)
WANTED = (
    *map(Column, ("Job", "Head", "Position")),
    *map(_size, ("Outside from", "Outside up to", "Height", "Inside")),
    *map(Column, ("Note", "Supplier", "Stands", "Expected")),
)
SIZES = (
    *map(Column, ("Supplier", "Part")),
    *map(_size, ("Outside", "Height", "Inside")),
    *map(Column, ("Material", "Unit", "Note", "On the list")),
)
CUTTERS = (
    *map(Column, ("Name", "Kind")),
    *map(_size, ("Fixed size", "Corner radius")),
    *map(Column, ("Note", "Tip", "Set for job")),
    _size("Set at", 5),
    *(
        column
        for each in Material
        for column in (
            _size(f"Overcut in {each.screen}", 5),
            Column(f"Cuts in {each.screen}", Holds.COUNT),
        )
    ),
)
INSTRUMENTS = (
    *map(Column, ("Name", "Reads")),
    *map(_size, ("Division", "Greatest error")),
    *map(Column, ("Unit", "Check stands", "Due")),
)
PILOTS = (
    Column("Name"),
    *map(_size, ("In the guide", "Shank")),
    *map(Column, ("Tapered", "Unit", "Measured")),
)
FIXTURES = (Column("Name"), Column("Reads"), *map(_size, ("Division", "Repeatability")))
MACHINES = (Column("Name"), _size("Travel"), Column("Note"))


def shelf_table(lines: list[ShelfLine]) -> Table:
    """Boxes on the shelf, what they say and what was measured."""
    return Table("shelf", SHELF, [_box(line) for line in lines])


def _box(line: ShelfLine) -> Row:
    box = line.ring_set
    cells: tuple[Cell, ...] = (
        *(box.part, box.name, box.supplier, box.lot, line.material, box.owner.screen),
        *(line.pieces, line.read, box.label_od, box.label_height, box.label_inside),
        *(line.od, line.od_spread, box.unit.value, box.place),
    )
    return Row(cells)


def wanted_table(lines: list[WantedLine]) -> Table:
    """Rings that open jobs wait for."""
    rows = []
    for line in lines:
        one = line.wanted
        cells: tuple[Cell, ...] = (
            *(line.number, line.head, line.label, one.od_from, one.od_to, one.height, one.inside),
            *(one.note, one.supplier, line.state, str(one.expected_on or "")),
        )
        rows.append(Row(cells))
    return Table("wanted-rings", WANTED, rows)


def sizes_table(database: Reads) -> Table:
    """The whole size list, with what is off it."""
    return Table("size-list", SIZES, paged(database, _sizes))


def _sizes(session: Session, after: int) -> tuple[list[Row], int]:
    found = session.exec(
        select(RingSize).where(col(RingSize.id) > after).order_by(col(RingSize.id)).limit(AT_ONCE)
    ).all()
    rows = [
        Row(
            (
                *(one.supplier, one.part, one.od, one.height, one.inside, one.material),
                *(one.unit.value, one.note, "no" if one.retired_at else "yes"),
            )
        )
        for one in found
    ]
    return rows, found[-1].id if len(found) == AT_ONCE else 0


def crib_tables(crib: Crib) -> dict[str, Table]:
    """What is in use in the crib, one table a noun."""
    cutters = []
    for line in crib.cutters:
        one, learned = line.cutter, line.overcut
        cells: list[Cell] = [one.name, one.kind.screen, one.fixed_size, one.corner_radius]
        cells += [one.note, line.tip.what if line.tip else ""]
        cells += [line.set_at.number, line.set_at.set_size] if line.set_at else ["", None]
        for material in Material:
            known = learned.get(material)
            cells += [known.mean, known.count] if known else [None, None]
        cutters.append(Row(tuple(cells)))
    instruments = [
        Row(
            (
                *(line.instrument.name, line.instrument.kind.screen, line.instrument.division),
                *(line.instrument.greatest_error, line.instrument.unit.value),
                *(line.state.screen, str(line.due_on or "")),
            )
        )
        for line in crib.instruments
    ]
    pilots = [
        Row(
            (
                *(one.name, one.guide_diameter, one.shank_diameter),
                *("yes" if one.is_tapered else "no", one.unit.value, str(one.measured_on)),
            )
        )
        for one in crib.pilots
    ]
    fixtures = [
        Row((one.name, one.mode.screen, one.division, one.repeatability)) for one in crib.fixtures
    ]
    machines = [Row((one.name, one.travel, one.note)) for one in crib.machines]
    return {
        "cutters": Table("cutters", CUTTERS, cutters),
        "instruments": Table("instruments", INSTRUMENTS, instruments),
        "pilots": Table("pilots", PILOTS, pilots),
        "fixtures": Table("fixtures", FIXTURES, fixtures),
        "machines": Table("machines", MACHINES, machines),
    }
