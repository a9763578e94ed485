"""Readings are append-only: typed over, struck, kept, read afresh, and never lost or doubled."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlmodel import select

from app.calc.units import Length
from app.forms.guides import GuidesForm
from app.forms.inspections import InspectionsForm
from app.forms.readings import GridForm
from app.models.event import Event
from app.models.head import Head
from app.models.reading import Reading, ReadingStrike
from app.services.guides import measure_guides
from app.services.inspections import newest_inspections, record_inspections
from app.services.readings import ReadWith, keep_reading, read_afresh, record_readings
from app.services.write import Refused, SentBefore, Write, use_case
from app.workflow.grids import BORE, STEM_HEIGHTS
from app.workflow.kinds import Quantity, ReadingKind
from app.workflow.words import InspectionKind
from app.worksheets.cells import Cell, Comparator, cells_of
from app.worksheets.readings import Readings, Subject, load_one
from tests.services.floor import Floor


def _now(floor: Floor, label: str = "1E") -> Readings:
    subject = Subject("port", floor.ports[label].id)
    with floor.database.read() as session:
        return load_one(session, ReadingKind.STEM_HEIGHTS, subject)


def _cell(floor: Floor, label: str = "1E") -> Cell:
    return cells_of(_now(floor, label), STEM_HEIGHTS, about=label, unit=floor.job.unit)[0]


def _type(floor: Floor, cell: Cell, text: str, *, had: int | None = None, **write: str) -> None:
    raw = {cell.name: text}
    if had is not None:
        raw[cell.had_name] = str(had)
    with floor.database.write() as session:
        tx = floor.write(session, **write)
        record_readings(tx, floor.head, GridForm(raw, [cell]).entries)


def test_a_figure_typed_over_a_kept_one_strikes_it_and_both_stay(floor: Floor) -> None:
    cell = _cell(floor)
    assert cell.current is not None
    _type(floor, cell, "1.852", had=cell.current.id)
    found = _now(floor)
    assert [kept.typed for kept in found.counting] == ["1.852"]
    assert [kept.typed for kept in found.all] == ["1.850", "1.852"]
    assert found.all[0].struck_because == "typed again"


def test_an_emptied_field_takes_its_reading_out_only_when_the_page_showed_it(floor: Floor) -> None:
    cell = _cell(floor)
    assert cell.current is not None
    _type(floor, cell, "")
    assert len(_now(floor).counting) == 1
    _type(floor, cell, "", had=cell.current.id)
    assert _now(floor).counting == ()


def test_two_tablets_at_one_field_are_told_apart(floor: Floor) -> None:
    cell = _cell(floor)
    assert cell.current is not None
    _type(floor, cell, "1.852", had=cell.current.id)
    with pytest.raises(Refused, match=r"read 1\.852 here after this page was opened"):
        _type(floor, cell, "1.853", had=cell.current.id)
    assert [kept.typed for kept in _now(floor).counting] == ["1.852"]


def test_the_same_figure_from_two_tablets_is_one_reading(floor: Floor) -> None:
    cell = _cell(floor)
    assert cell.current is not None
    for _ in range(2):
        _type(floor, cell, "1.852", had=cell.current.id)
    assert len(_now(floor).all) == 2


def test_a_repeated_form_records_once_and_a_changed_one_with_its_key_is_refused(
    floor: Floor,
) -> None:
    cell = _cell(floor)
    assert cell.current is not None
    for _ in range(2):
        _type(floor, cell, "1.852", had=cell.current.id, client_key="k1", request_sha256="a" * 64)
    with pytest.raises(SentBefore):
        _type(floor, cell, "1.853", had=cell.current.id, client_key="k1", request_sha256="b" * 64)
    assert [kept.typed for kept in _now(floor).counting] == ["1.852"]


def test_reading_afresh_keeps_the_old_on_record_and_counts_none_of_it(floor: Floor) -> None:
    with floor.hands.writing() as tx:
        read_afresh(tx, floor.head, _cell(floor).subject, ReadingKind.STEM_HEIGHTS)
    assert _now(floor).all == ()
    with floor.database.read() as session:
        assert session.exec(
            select(Reading.id).where(Reading.quantity == Quantity.STEM_HEIGHT)
        ).all()
        assert session.exec(select(ReadingStrike.id)).all() == []


def test_a_reading_is_kept_with_a_reason_once(floor: Floor) -> None:
    current = _cell(floor).current
    assert current is not None
    with floor.hands.writing() as tx:
        keep_reading(tx, current.id, "read twice", floor.head)
    again = pytest.raises(Refused, match="already kept")
    with again, floor.hands.writing() as tx:
        keep_reading(tx, current.id, "read twice", floor.head)


def test_another_instrument_starts_a_set_and_the_earlier_readings_still_count(
    floor: Floor,
) -> None:
    subject = Subject("port_pass", 1)
    cells = cells_of(Readings(subject, ReadingKind.BORE), BORE, about="2E", unit=floor.job.unit)
    assert [cell.label for cell in cells] == [
        "2E, across the head",
        "2E, along the head",
        "2E, depth",
    ]
    cell = _cell(floor, "1I")
    assert cell.current is not None
    with floor.hands.writing() as tx:
        raw = {cell.name: "1.851", cell.had_name: str(cell.current.id)}
        entries = GridForm(raw, [cell]).entries
        record_readings(tx, floor.head, entries, ReadWith(part_c=24.0))
    found = _now(floor, "1I")
    assert found.set is not None
    assert found.set.part_temperature_c == 24.0
    assert [kept.typed for kept in found.counting] == ["1.851"]


def test_a_comparator_reads_in_divisions_from_its_master(floor: Floor) -> None:
    zeroed = Comparator(Length.of("1.6220"), Length.of(".0001"))
    cells = cells_of(
        Readings(Subject("port_pass", 1), ReadingKind.BORE),
        BORE,
        about="2E",
        unit=floor.job.unit,
        comparator=zeroed,
    )
    form = GridForm({cells[0].name: "+3", cells[1].name: "-2"}, cells)
    assert [entry.value and entry.value.inches(4) for entry in form.entries] == ["1.6223", "1.6218"]


def _events(floor: Floor) -> int:
    with floor.database.read() as session:
        return len(session.exec(select(Event.id)).all())


def test_a_page_kept_unchanged_logs_nothing(floor: Floor) -> None:
    cell = _cell(floor)
    assert cell.current is not None
    before = _events(floor)
    for _ in range(2):
        _type(floor, cell, cell.current.typed, had=cell.current.id, client_key="k1")
    assert _events(floor) == before
    assert [kept.typed for kept in _now(floor).all] == ["1.850"]


def test_inspections_and_guides_kept_unchanged_log_nothing(floor: Floor) -> None:
    newest = floor.hands.heads(floor.job)[0]
    with floor.database.read() as session:
        crack = newest_inspections(session, newest.id)[InspectionKind.CRACK]
    as_kept = {
        "outcome_crack": crack.outcome.value,
        "method_crack": crack.method,
        "had_crack": str(crack.id),
    }
    left = {f"guide_{port.id}": "left" for label, port in floor.ports.items() if label != "4E"}
    before = _events(floor)
    with floor.database.write() as session:
        form = InspectionsForm(as_kept, [InspectionKind.CRACK])
        assert form.said
        record_inspections(floor.write(session), newest.id, form)
    with floor.database.write() as session:
        decided = GuidesForm(left, [port.id for port in floor.ports.values()])
        assert len(decided.decisions) == 7
        measure_guides(floor.write(session), newest.id, decided)
    assert _events(floor) == before


def test_a_use_case_that_forgets_to_log_is_still_found_out(floor: Floor) -> None:
    @use_case
    def careless(tx: Write) -> Head:
        return tx.session.get_one(Head, floor.head.id)

    with (
        pytest.raises(RuntimeError, match="careless must log"),
        floor.database.write() as session,
    ):
        careless(floor.write(session))


def _sent(floor: Floor, cell: Cell, text: str, key: str, **more: str) -> None:
    """As a tablet sends what it kept until the server answered."""
    raw = {cell.name: text, f"key.{cell.name}": key}
    raw |= {f"{name}.{cell.name}": said for name, said in more.items()}
    with floor.database.write() as session:
        record_readings(floor.write(session), floor.head, GridForm(raw, [cell]).entries)


def test_what_a_tablet_sends_twice_is_recorded_once_whatever_came_between(floor: Floor) -> None:
    cell = _cell(floor)
    assert cell.current is not None
    had = str(cell.current.id)
    _sent(floor, cell, "1.852", "a" * 32, had=had)
    mine = _now(floor).counting[-1]
    _type(floor, cell, "1.853", had=mine.id)
    _sent(floor, cell, "1.852", "a" * 32, had=had)
    assert [kept.typed for kept in _now(floor).all] == ["1.850", "1.852", "1.853"]
    assert [kept.typed for kept in _now(floor).counting] == ["1.853"]


def test_a_field_emptied_on_a_tablet_is_taken_out_once(floor: Floor) -> None:
    cell = _cell(floor)
    assert cell.current is not None
    had = str(cell.current.id)
    _sent(floor, cell, "", "b" * 32, had=had)
    _type(floor, cell, "1.853")
    _sent(floor, cell, "", "b" * 32, had=had)
    assert [kept.typed for kept in _now(floor).counting] == ["1.853"]


def test_what_waited_on_a_tablet_was_read_when_it_was_typed_by_who_typed_it(floor: Floor) -> None:
    cell = _cell(floor)
    assert cell.current is not None
    raw = {
        cell.name: "1.852",
        cell.had_name: str(cell.current.id),
        f"key.{cell.name}": "c" * 32,
        f"waited.{cell.name}": "7200",
    }
    other = floor.cast.owner
    with floor.database.write() as session:
        tx = floor.write(session)
        sent_by = tx.by_id
        entries = GridForm(raw, [cell]).entries
        record_readings(tx, floor.head, entries, ReadWith(typed_by_id=other.id))
    with floor.database.read() as session:
        reading = session.exec(select(Reading).where(Reading.client_key == "c" * 32)).one()
    assert (reading.typed_by_id, reading.sent_by_id) == (other.id, sent_by)
    assert reading.kept_at - reading.taken_at == timedelta(hours=2)


@pytest.mark.parametrize(
    ("typed", "nanometres"),
    [("+1.8500", 46990000), ("+1.8500 in", 46990000), ("+47.000mm", 47000000)],
)
def test_a_gauge_may_write_its_sign_and_its_unit(floor: Floor, typed: str, nanometres: int) -> None:
    cell = _cell(floor)
    (entry,) = GridForm({cell.name: typed}, [cell]).entries
    assert entry.value == Length(nanometres)


def test_a_whole_number_behind_a_sign_counts_divisions_of_a_named_gauge(floor: Floor) -> None:
    cell = _cell(floor)
    assert "counts divisions" in GridForm({cell.name: "+3"}, [cell]).errors[cell.name]
