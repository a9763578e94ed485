"""Inspections of a head: several at once, the newest of a kind counts."""

from __future__ import annotations

import pytest
from sqlmodel import col, select

from app.forms.inspections import InspectionsForm
from app.models.inspection import Inspection
from app.queries.inspections import KINDS, inspection_lines
from app.services.inspections import newest_inspections, record_inspections
from app.services.write import Refused
from app.workflow.gates import Gate, open_points
from app.workflow.words import InspectionKind, Outcome
from app.worksheets.facts import load_sheet
from tests.services.floor import Floor


def record(floor: Floor, **said: str) -> None:
    form = InspectionsForm(said, KINDS)
    assert form.ok, form.errors
    with floor.hands.writing() as tx:
        record_inspections(tx, floor.head.id, form)


def crack_tests(floor: Floor) -> list[Inspection]:
    with floor.database.read() as session:
        return list(
            session.exec(
                select(Inspection)
                .where(Inspection.kind == InspectionKind.CRACK)
                .order_by(col(Inspection.id))
            )
        )


def crack_test_is_open(floor: Floor) -> bool:
    with floor.database.read() as session:
        facts = load_sheet(session, floor.head).facts
    return "crack_test" in [point.key for point in open_points(Gate.METAL_OFF, facts)]


def test_several_are_recorded_in_one_go(floor: Floor) -> None:
    record(
        floor,
        outcome_flatness="ok",
        found_flatness="within .002",
        outcome_pressure_before="not_done",
        because_pressure_before="no tester here",
    )
    with floor.database.read() as session:
        newest = newest_inspections(session, floor.head.id)
    assert newest[InspectionKind.FLATNESS].found == "within .002"
    assert newest[InspectionKind.PRESSURE_BEFORE].because == "no tester here"
    assert InspectionKind.HARDNESS not in newest


def test_the_newest_of_a_kind_counts_and_the_earlier_stay_on_record(floor: Floor) -> None:
    first = crack_tests(floor)[0]
    record(
        floor,
        had_crack=str(first.id),
        outcome_crack="not_ok",
        found_crack="3E to the plug, 12 mm",
    )
    assert [row.outcome for row in crack_tests(floor)] == [Outcome.OK, Outcome.NOT_OK]
    with floor.database.read() as session:
        lines = inspection_lines(session, load_sheet(session, floor.head))
    line = next(each for each in lines if each.kind is InspectionKind.CRACK)
    assert line.newest is not None
    assert line.newest.outcome is Outcome.NOT_OK
    assert [one.row.id for one in line.earlier] == [first.id]


def test_what_stands_as_the_page_showed_it_is_not_written_twice(floor: Floor) -> None:
    first = crack_tests(floor)[0]
    same = {
        "had_crack": str(first.id),
        "outcome_crack": "ok",
        "method_crack": "dry magnetic particle",
    }
    record(floor, **same)
    assert [row.id for row in crack_tests(floor)] == [first.id]


def test_another_outcome_recorded_meanwhile_is_named_and_nothing_is_stored(floor: Floor) -> None:
    with pytest.raises(Refused) as no:
        record(
            floor,
            outcome_flatness="ok",
            outcome_crack="not_done",
            because_crack="the customer declined",
        )
    assert no.value.field == "outcome_crack"
    assert no.value.message.startswith("Max recorded “OK” after this page was opened")
    assert len(crack_tests(floor)) == 1
    with floor.database.read() as session:
        assert InspectionKind.FLATNESS not in newest_inspections(session, floor.head.id)


def test_a_crack_test_that_was_not_done_closes_its_point_by_the_reason(floor: Floor) -> None:
    first = crack_tests(floor)[0]
    record(
        floor,
        had_crack=str(first.id),
        outcome_crack="not_done",
        because_crack="the customer declined",
    )
    assert not crack_test_is_open(floor)


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"outcome_crack": "not_done"}, "because_crack"),
        ({"outcome_crack": "not_ok"}, "found_crack"),
        ({"found_crack": "a line at 3E"}, "outcome_crack"),
        ({"outcome_crack": "perfect"}, "outcome_crack"),
        ({"outcome_crack": "ok", "method_crack": "x" * 81}, "method_crack"),
    ],
)
def test_half_an_inspection_is_refused_at_its_field(said: dict[str, str], field: str) -> None:
    assert list(InspectionsForm(said, KINDS).errors) == [field]
