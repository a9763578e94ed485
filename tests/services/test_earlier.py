"""What was read on paper keeps its own time and person; who typed it, and when, stands beside."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from sqlmodel import select

from app.forms.earlier import ReadEarlier
from app.forms.inspections import InspectionsForm
from app.forms.readings import GridForm, ReadWithForm
from app.models.inspection import Inspection
from app.models.job import Job
from app.models.reading import Reading
from app.services.inspections import record_inspections
from app.services.readings import ReadWith, record_readings
from app.services.write import Refused
from app.workflow.grids import STEM_HEIGHTS
from app.workflow.kinds import ReadingKind, Unit
from app.workflow.words import InspectionKind
from app.worksheets.cells import cells_of
from app.worksheets.readings import Subject, load_one
from tests.services.floor import Floor


def taken_in(floor: Floor) -> datetime:
    with floor.database.read() as session:
        return session.get_one(Job, floor.job.id).taken_in_at


def read_at(floor: Floor, at: datetime, by_id: int | None = None) -> ReadEarlier:
    """By the shop's clock, which is UTC here."""
    return ReadEarlier(at.date(), at.time(), by_id or floor.cast.owner.id)


def type_in(floor: Floor, earlier: ReadEarlier, text: str = "1.8520") -> Reading:
    subject = Subject("port", floor.ports["1E"].id)
    with floor.database.write() as session:
        before = load_one(session, ReadingKind.STEM_HEIGHTS, subject)
        [cell] = cells_of(before, STEM_HEIGHTS, about="1E", unit=Unit.INCH)
        assert cell.current is not None
        raw = {cell.name: text, cell.had_name: str(cell.current.id)}
        tx = floor.write(session)
        record_readings(tx, floor.head, GridForm(raw, [cell]).entries, ReadWith(earlier=earlier))
        return session.exec(select(Reading).where(Reading.typed == text)).one()


def test_a_reading_from_paper_says_who_read_it_when_and_who_typed_it(floor: Floor) -> None:
    at = (taken_in(floor) + timedelta(minutes=2)).replace(second=0, microsecond=0)
    row = type_in(floor, read_at(floor, at))
    assert (row.taken_at, row.typed_by_id) == (at, floor.cast.owner.id)
    assert row.sent_by_id == floor.cast.machinist.id
    assert row.kept_at > row.taken_at
    with floor.database.read() as session:
        subject = Subject("port", floor.ports["1E"].id)
        kept = load_one(session, ReadingKind.STEM_HEIGHTS, subject).counting[-1]
    assert kept.is_entered_later
    assert (kept.typed_by, kept.sent_by) == ("Olive", "Max")


def test_a_reading_taken_now_was_not_entered_later(floor: Floor) -> None:
    with floor.database.read() as session:
        subject = Subject("port", floor.ports["1E"].id)
        [kept] = load_one(session, ReadingKind.STEM_HEIGHTS, subject).counting
    assert not kept.is_entered_later


@pytest.mark.parametrize(
    ("days", "field", "words"),
    [(1, "earlier_on", "in the future"), (-1, "earlier_on", "was taken in on")],
)
def test_a_reading_is_neither_of_the_future_nor_older_than_its_job(
    floor: Floor, days: int, field: str, words: str
) -> None:
    at = taken_in(floor) + timedelta(days=days, minutes=5)
    with pytest.raises(Refused, match=words) as refused:
        type_in(floor, read_at(floor, at))
    assert refused.value.field == field


def test_nobody_unknown_read_it(floor: Floor) -> None:
    at = taken_in(floor) + timedelta(minutes=2)
    with pytest.raises(Refused, match="no such person") as refused:
        type_in(floor, read_at(floor, at, by_id=4711))
    assert refused.value.field == "earlier_by"


def test_an_inspection_from_paper_keeps_who_looked(floor: Floor) -> None:
    at = (taken_in(floor) + timedelta(minutes=2)).replace(second=0, microsecond=0)
    raw = {
        "outcome_flatness": "ok",
        "earlier_on": at.date().isoformat(),
        "earlier_at": f"{at:%H:%M}",
        "earlier_by": str(floor.cast.owner.id),
    }
    with floor.database.write() as session:
        form = InspectionsForm(raw, [InspectionKind.FLATNESS])
        record_inspections(floor.write(session), floor.head.id, form)
        row = session.exec(
            select(Inspection).where(Inspection.kind == InspectionKind.FLATNESS)
        ).one()
        assert (row.taken_at, row.read_by_id) == (at, floor.cast.owner.id)
        assert row.by_id == floor.cast.machinist.id
        assert row.at > at


@pytest.mark.parametrize(
    ("raw", "wrong"),
    [
        ({}, set()),
        ({"earlier_on": "2026-11-24"}, {"earlier_at", "earlier_by"}),
        ({"earlier_at": "7 o'clock", "earlier_by": "1"}, {"earlier_at", "earlier_on"}),
        ({"earlier_at": "25:00", "earlier_on": "2026-11-24", "earlier_by": "1"}, {"earlier_at"}),
        ({"earlier_by": "x"}, {"earlier_by", "earlier_on", "earlier_at"}),
    ],
)
def test_all_three_are_asked_once_there_is_something_to_keep(
    raw: dict[str, str], wrong: set[str]
) -> None:
    form = ReadWithForm(raw, Unit.INCH)
    form.need_all()
    assert set(form.errors) == wrong
    assert form.earlier is None
