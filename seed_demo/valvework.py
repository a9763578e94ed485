"""Valve work of the demo: valves and springs along a head, its vacuum test and its chambers."""

from __future__ import annotations

from collections.abc import Mapping

from app.forms.chamber_volumes import ChamberVolumesForm
from app.forms.leak_tests import LeakTestsForm
from app.forms.readings import GridForm
from app.forms.valves import ValvesForm
from app.models.head import Head
from app.services.chamber_volumes import measure_chambers
from app.services.leak_tests import pull_vacuum
from app.services.readings import record_readings
from app.services.valves import judge_valves
from app.workflow.grids import BELOW_DECK, OF_THE_BOOK, VALVE_CONTACT, VALVES, Column
from app.workflow.kinds import Quantity, ReadingKind
from app.workflow.words import Kind
from app.worksheets.cells import cells_of
from app.worksheets.readings import Subject, load_one
from seed_demo.hands import Hands, filled

BOOK = {
    (Quantity.SPRING_HEIGHT, Kind.INTAKE.screen): "1.800",
    (Quantity.SPRING_HEIGHT, Kind.EXHAUST.screen): "1.780",
    (Quantity.VALVE_LENGTH, Kind.INTAKE.screen): "4.930",
    (Quantity.VALVE_LENGTH, Kind.EXHAUST.screen): "4.912",
}
# Margin, face run-out, length, off the tip, spring height, shims.
ROWS = {
    Kind.INTAKE: [".048", ".0005", "4.938", ".003", "1.830", ".030"],
    Kind.EXHAUST: [".062", ".0010", "4.920", ".003", "1.812", ".030"],
}
CAME_IN, NOW = ".031", ".037"


def deck_before(hands: Hands, head: Head) -> None:
    """Every valve below the deck, as it came in."""
    hands.below_deck(head, dict.fromkeys(hands.ports(head), CAME_IN))


def valves_and_springs(hands: Hands, head: Head, states: Mapping[str, str]) -> None:
    """What becomes of each valve (all others kept), and every figure along the head."""
    ports = hands.ports(head)
    ids = [port.id for port in ports.values()]
    raw = {f"valve_{ports[label].id}": state for label, state in states.items()}
    with hands.writing() as tx:
        judge_valves(tx, head.id, filled(ValvesForm({**raw, "quick": "all_kept"}, ids)))
    _of_the_book(hands, head)
    rows = {label: ROWS[port.kind] for label, port in ports.items()}
    hands.read_along(head, ReadingKind.VALVES, VALVES, rows)


def contact_and_deck(hands: Hands, head: Head) -> None:
    """Where the finished seats meet their valves, and how deep those lie now."""
    rows = {label: [".058", ".022"] for label in hands.ports(head)}
    hands.read_along(head, ReadingKind.VALVES, VALVE_CONTACT, rows)
    depths = {label: [NOW] for label in hands.ports(head)}
    hands.read_along(head, ReadingKind.FINISH, BELOW_DECK, depths)


def vacuum(hands: Hands, head: Head, ends: Mapping[str, str]) -> None:
    """Every port pumped to 23 inHg; `ends` says which of them fell further than the others."""
    ports = hands.ports(head)
    raw = {"method": "pump at each port, springs on", "seconds": "10"}
    for label, port in ports.items():
        raw |= {f"start_{port.id}": "23", f"end_{port.id}": ends.get(label, "22.5")}
    form = filled(LeakTestsForm(raw, ids={port.id: label for label, port in ports.items()}))
    with hands.writing() as tx:
        pull_vacuum(tx, head.id, form)


def chambers(hands: Hands, head: Head, *volumes: str) -> None:
    """One volume a cylinder."""
    cylinders = list(dict.fromkeys(port.cylinder for port in hands.ports(head).values()))
    raw = {f"volume_{nth}": volume for nth, volume in enumerate(volumes)}
    raw["method"] = "plate and burette, valves in"
    form = filled(ChamberVolumesForm(raw, cylinders=cylinders))
    with hands.writing() as tx:
        measure_chambers(tx, head.id, form)


def _of_the_book(hands: Hands, head: Head) -> None:
    def typed(column: Column) -> str:
        return BOOK[column.quantity, column.place]

    with hands.database.read() as session:
        books = load_one(session, ReadingKind.VALVES, Subject("head", head.id))
    unit = hands.job_of(head).unit
    cells = cells_of(books, OF_THE_BOOK, about="the head", unit=unit)
    form = filled(GridForm({cell.name: typed(cell.column) for cell in cells}, cells))
    with hands.writing() as tx:
        record_readings(tx, head, form.entries)
