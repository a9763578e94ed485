"""What the seats of a head are to be: versions, each logged; the newest holds."""

from __future__ import annotations

import json

import pytest
from sqlmodel import select

from app.calc.units import Length
from app.db import Database
from app.forms.ends import EndForm
from app.forms.seat_plans import SeatPlanForm
from app.models.event import Event
from app.models.seat_plan import SeatPlan
from app.queries.seat_plans import planned_lines, seats_view, told_of_head
from app.queries.shop_rules import current_rules
from app.services.ends import end_job
from app.services.owned import the_head
from app.services.seat_plans import CHANGED_MEANWHILE, plan_seats, version_of
from app.services.write import NotFound, Refused
from app.workflow.kinds import Unit
from app.workflow.words import Ended, Kind
from app.worksheets.seat_plans import newest_plans, width_windows
from tests.services.conftest import Writing
from tests.services.floor import Floor

WANTED = {
    "kind": "E",
    "seat_angle": "45",
    "top_angle": "30",
    "throat_angle": "60",
    "width_wanted": ".070",
    "outer_wanted": "1.480",
    "valve_head": "1.520",
    "valve_angle": "44.5",
    "source": "the engine's manual",
}


def form(database: Database, **change: str) -> SeatPlanForm:
    with database.read() as session:
        windows = width_windows(current_rules(session))
    found = SeatPlanForm({**WANTED, **change}, unit=Unit.INCH, windows=windows)
    assert found.ok, found.errors
    return found


def test_it_is_kept_as_typed_and_logged_with_its_job(
    floor: Floor, database: Database, writing: Writing
) -> None:
    with writing() as tx:
        row = plan_seats(tx, floor.head.id, form(database))
        assert (row.width_wanted, row.outer_wanted) == (Length.of(".070"), Length.of("1.480"))
        assert (row.kind, row.valve_angle_deg) == (Kind.EXHAUST, 44.5)
    with database.read() as session:
        event = session.exec(select(Event).where(Event.subject == "seat_plan")).one()
        assert (event.job_id, event.head_id) == (floor.job.id, floor.head.id)
        told = "exhaust: 45°, top 30°, throat 60°, land .070 wide, outer edge 1.480"
        assert json.loads(event.body)["seats"] == told
        assert planned_lines(session, floor.head.id, Unit.INCH) == (told,)


def test_the_newest_version_of_a_kind_holds_and_the_others_stay(
    floor: Floor, database: Database, writing: Writing
) -> None:
    with writing() as tx:
        plan_seats(tx, floor.head.id, form(database))
        plan_seats(tx, floor.head.id, form(database, width_wanted=".080"))
        plan_seats(tx, floor.head.id, form(database, kind="I", width_wanted=".060"))
    with database.read() as session:
        held = newest_plans(session, [floor.head.id])[floor.head.id]
        assert held[Kind.EXHAUST].width_wanted == Length.of(".080")
        assert held[Kind.INTAKE].width_wanted == Length.of(".060")
        view = seats_view(session, *the_head(session, floor.head.id))
        exhaust = next(each for each in view.kinds if each.kind is Kind.EXHAUST)
        assert [one.plan.width_wanted for one in exhaust.history] == [
            Length.of(".080"),
            Length.of(".070"),
        ]


def test_the_same_once_more_writes_nothing(
    floor: Floor, database: Database, writing: Writing
) -> None:
    for _ in range(2):
        with writing() as tx:
            plan_seats(tx, floor.head.id, form(database))
    with database.read() as session:
        assert len(session.exec(select(SeatPlan)).all()) == 1
        assert len(session.exec(select(Event).where(Event.subject == "seat_plan")).all()) == 1


def test_a_page_that_showed_an_older_version_does_not_write_over_the_newer(
    floor: Floor, database: Database, writing: Writing
) -> None:
    with writing() as tx:
        plan_seats(tx, floor.head.id, form(database, seen=version_of(None)))
    with writing() as tx, pytest.raises(Refused) as refused:
        plan_seats(tx, floor.head.id, form(database, seen="none", width_wanted=".080"))
    assert refused.value.message == CHANGED_MEANWHILE


def test_a_head_without_such_seats_is_refused(
    floor: Floor, database: Database, writing: Writing
) -> None:
    with database.write() as session:
        for port in floor.ports.values():
            if port.kind is Kind.INTAKE:
                merged = session.merge(port)
                merged.is_void = True
    with writing() as tx, pytest.raises(Refused) as refused:
        plan_seats(tx, floor.head.id, form(database, kind="I", width_wanted=".060"))
    assert refused.value.message == "This head has no intake seats."


def test_a_head_that_is_not_there_is_refused(
    floor: Floor, database: Database, writing: Writing
) -> None:
    with writing() as tx, pytest.raises(NotFound):
        plan_seats(tx, 9_999, form(database))


def test_until_something_is_said_the_shops_rules_are_told_as_such(
    floor: Floor, database: Database
) -> None:
    with database.read() as session:
        rules = current_rules(session)
        told = told_of_head(session, floor.head.id, list(Kind), rules, Unit.INCH)
    assert told == [
        ("exhaust: 45°, top 30°, throat 60°", "the shop's angles; its widths are .050 to .100"),
        ("intake: 45°, top 30°, throat 60°", "the shop's angles; its widths are .040 to .080"),
    ]


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [
        ({"top_angle": "45"}, "top_angle", "must be flatter than the seat's 45°"),
        ({"throat_angle": "45"}, "throat_angle", "must be steeper than the seat's 45°"),
        ({"seat_angle": ""}, "seat_angle", "Which angle has the seat?"),
        ({"seat_angle": "95"}, "seat_angle", "must be from 1 to 89 °"),
        ({"outer_wanted": "1.530"}, "outer_wanted", "lies outside the valve head, which is 1.520"),
        ({"width_wanted": "-.07"}, "width_wanted", "-.07 cannot be negative."),
        ({"valve_angle": "30"}, "valve_angle", "must be steeper than the top cut's 30°"),
        ({"valve_angle": "60"}, "valve_angle", "must be flatter than the throat's 60°"),
        ({"source": " "}, "source", "Say who says so, or where it was read"),
        ({"kind": "X"}, "kind", "is not one of the choices; choose again"),
    ],
)
def test_what_cannot_be_one_seat_is_named_at_its_field(
    sqlite_database: Database, change: dict[str, str], field: str, says: str
) -> None:
    with sqlite_database.read() as session:
        windows = width_windows(current_rules(session))
    found = SeatPlanForm({**WANTED, **change}, unit=Unit.INCH, windows=windows)
    assert found.errors == {field: says}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"valve_angle": "42"}, "Is it so? The valve's face is 3° from its seat."),
        (
            {"width_wanted": ".120"},
            "Is it so? A land .120 wide is outside the shop's widths for exhaust seats, "
            ".050 to .100.",
        ),
    ],
)
def test_what_is_odd_is_asked_once(
    sqlite_database: Database, change: dict[str, str], says: str
) -> None:
    with sqlite_database.read() as session:
        windows = width_windows(current_rules(session))
    asked = SeatPlanForm({**WANTED, **change}, unit=Unit.INCH, windows=windows)
    assert asked.errors == {"confirm_odd": says}
    answered = {**WANTED, **change, "confirm_odd": "yes"}
    assert SeatPlanForm(answered, unit=Unit.INCH, windows=windows).ok


def test_an_ended_job_keeps_what_was_wanted(
    floor: Floor, database: Database, writing: Writing
) -> None:
    with writing() as tx:
        plan_seats(tx, floor.head.id, form(database))
    raw = {"ended_as": Ended.RETURNED_UNREPAIRED, "note": "not worth it"}
    with writing() as tx:
        end_job(tx, floor.job.number, EndForm(raw))
    with writing() as tx, pytest.raises(Refused) as refused:
        plan_seats(tx, floor.head.id, form(database, width_wanted=".080"))
    assert "nothing more is changed on it" in refused.value.message
