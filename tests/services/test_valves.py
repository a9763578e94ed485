"""Valves, vacuum tests and chambers: the newest word counts, and the head record tells them."""

from __future__ import annotations

import pytest
from sqlmodel import select

from app.db import Database
from app.forms.chamber_volumes import ChamberVolumesForm
from app.forms.leak_tests import LeakTestsForm
from app.forms.valves import ValvesForm
from app.models.inspection import Inspection, InspectionFigure, ValveFate
from app.queries.head_records import HeadRecord, head_record
from app.queries.sheets import letterhead
from app.services.chamber_volumes import measure_chambers
from app.services.leak_tests import pull_vacuum
from app.services.valves import judge_valves
from app.services.write import Refused
from app.workflow.grids import VALVES
from app.workflow.kinds import ReadingKind, ValveState
from app.workflow.words import InspectionKind, Outcome
from app.worksheets.facts import load_sheet
from tests.services.conftest import Writing
from tests.services.floor import Floor


def judged(floor: Floor, had: str = "", quick: str = "", **states: str) -> ValvesForm:
    raw = {f"valve_{floor.ports[label].id}": state for label, state in states.items()}
    if had:
        raw |= {f"had_valve_{floor.ports[label].id}": had for label in states}
    return ValvesForm({**raw, "quick": quick}, [port.id for port in floor.ports.values()])


def vacuum_form(floor: Floor, **fields: str) -> LeakTestsForm:
    ids = {port.id: label for label, port in floor.ports.items()}
    raw = {}
    for name, value in fields.items():
        what, _, label = name.partition("_")
        raw[f"{what}_{floor.ports[label].id}" if label else name] = value
    return LeakTestsForm({"seconds": "10", **raw}, ids=ids)


def record(floor: Floor, database: Database) -> HeadRecord:
    with database.read() as session:
        heading = letterhead(session, floor.job)
        return head_record(session, floor.job, heading, load_sheet(session, floor.head))


def test_all_others_kept_is_one_touch_and_the_newest_word_counts(
    floor: Floor, database: Database, writing: Writing
) -> None:
    with writing() as tx:
        judge_valves(tx, floor.head.id, judged(floor, **{"3E": "refaced"}))
    with writing() as tx:
        form = judged(floor, quick="all_kept", had="refaced", **{"3E": "missing"})
        judge_valves(tx, floor.head.id, form)
    with database.read() as session:
        rows = load_sheet(session, floor.head).rows.ports
        written = len(session.exec(select(ValveFate.id)).all())
    states = {each.label: each.valve_fate.state for each in rows if each.valve_fate}
    assert states.pop("3E") is ValveState.MISSING
    assert set(states.values()) == {ValveState.KEPT}
    assert written == len(rows) + 1


def test_a_word_on_a_valve_that_came_in_meanwhile_is_named(floor: Floor, writing: Writing) -> None:
    with writing() as tx:
        judge_valves(tx, floor.head.id, judged(floor, **{"3E": "new"}))
    with pytest.raises(Refused, match="Max said “new valve” after"), writing() as tx:
        judge_valves(tx, floor.head.id, judged(floor, had="kept", **{"3E": "missing"}))


def test_a_vacuum_test_keeps_its_figures_and_earlier_ones_stay(
    floor: Floor, database: Database, writing: Writing
) -> None:
    with writing() as tx:
        pull_vacuum(tx, floor.head.id, vacuum_form(floor, start_3E="23", end_3E="21.5"))
    with database.read() as session:
        first = session.exec(
            select(Inspection).where(Inspection.kind == InspectionKind.VACUUM)
        ).one()
        figures = session.exec(select(InspectionFigure)).all()
    assert first.outcome is Outcome.NOT_OK
    assert [(each.place, each.typed, each.unit) for each in figures] == [
        ("start", "23", "inHg"),
        ("end", "21.5", "inHg"),
        ("seconds", "10", "s"),
    ]
    again = vacuum_form(floor, start_3E="23", end_3E="22.8", had_3E=str(first.id))
    with writing() as tx:
        pull_vacuum(tx, floor.head.id, again)
    assert [(line.label, line.outcome) for line in record(floor, database).vacuum] == [
        ("3E", Outcome.OK)
    ]


def test_the_head_record_tells_valves_tests_and_chambers_apart_from_the_inspections(
    floor: Floor, database: Database, writing: Writing
) -> None:
    before = record(floor, database)
    assert (before.valves, before.vacuum, before.chambers) == ((), (), None)
    sizes = [".040", ".001", "4.920", ".002", "1.830", ".030"]
    floor.hands.read_along(floor.head, ReadingKind.VALVES, VALVES, {"3E": sizes})
    with writing() as tx:
        judge_valves(tx, floor.head.id, judged(floor, **{"3E": "refaced", "3I": "missing"}))
    with writing() as tx:
        pull_vacuum(tx, floor.head.id, vacuum_form(floor, rest="no pump here"))
    with writing() as tx:
        typed = {"volume_0": "43.2", "volume_1": "43.3", "volume_2": "45"}
        form = ChamberVolumesForm(typed, cylinders=["1", "2", "3", "4"])
        measure_chambers(tx, floor.head.id, form)
    found = record(floor, database)
    lines = {line.label: line for line in found.valves}
    assert {label: (line.state, line.is_missing) for label, line in lines.items()} == {
        "3E": ("refaced", False),
        "3I": ("missing", True),
    }
    assert lines["3E"].follows == ("tip: .0080 may still come off",)
    assert lines["3E"].asks == ("margin under .0470",)
    assert {line.because for line in found.vacuum} == {"no pump here"}
    assert found.chambers is not None
    assert "cylinder 3 holds 1.7 cm³ more" in found.chambers.found
    assert [test.kind for test in found.tests] == [test.kind for test in before.tests]
