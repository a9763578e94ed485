"""How a head goes on after it was inspected: the newest word counts, earlier ones stay."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlmodel import col, select

from app.forms.inspections import InspectionsForm
from app.forms.waiting import LONGEST_FOR, WaitingForm
from app.models.inspection import HeadDecision, Inspection, InspectionFigure
from app.models.job import Job
from app.queries.inspected import Found, found_on
from app.queries.inspections import KINDS
from app.queries.shop_rules import current_rules
from app.services.inspections import record_inspections
from app.services.waiting import start_waiting
from app.services.write import Refused
from app.workflow.gates import Gate, open_points
from app.workflow.kinds import Unit
from app.workflow.words import InspectionKind, InspectionWay, Waiting
from app.worksheets.facts import load_sheet
from tests.services.floor import Floor


def say(floor: Floor, **said: str) -> None:
    form = InspectionsForm(said, KINDS)
    assert form.ok, form.errors
    with floor.hands.writing() as tx:
        record_inspections(tx, floor.head.id, form)


def found(floor: Floor) -> Found:
    with floor.database.read() as session:
        return found_on(session, floor.head, current_rules(session), Unit.INCH)


def the_job(floor: Floor) -> Job:
    with floor.database.read() as session:
        return session.get_one(Job, floor.head.job_id)


def crack_test(floor: Floor) -> str:
    """The newest one's id, as a page shows it."""
    with floor.database.read() as session:
        kinds = select(Inspection.id).where(Inspection.kind == InspectionKind.CRACK)
        return str(max(session.exec(kinds).all()))


def open_of_head(floor: Floor) -> list[str]:
    with floor.database.read() as session:
        points = open_points(Gate.METAL_OFF, load_sheet(session, floor.head).facts)
    return [point.key for point in points if point.key in ("crack_test", "hardness")]


def test_to_ask_the_customer_sets_the_job_waiting_with_the_question(floor: Floor) -> None:
    say(floor, way="ask_customer", way_because="cracked at 2E: weld it, or look for a core?")
    job = the_job(floor)
    assert job.waiting is Waiting.CUSTOMER
    assert job.waiting_for == "cracked at 2E: weld it, or look for a core?"


def test_what_the_job_waited_for_before_is_still_told(floor: Floor) -> None:
    parts = {"waiting": "parts", "waiting_for": "two exhaust valves", "since": "2026-01-05"}
    with floor.hands.writing() as tx:
        start_waiting(tx, the_job(floor).number, WaitingForm(parts, today=tx.at.date()))
    say(floor, way="ask_customer", way_because="weld it?")
    job = the_job(floor)
    assert job.waiting is Waiting.CUSTOMER
    assert job.waiting_for == "weld it?; also waiting for parts: two exhaust valves"


def test_a_long_question_is_cut_to_what_a_list_shows(floor: Floor) -> None:
    say(floor, way="ask_customer", way_because="?" * 400)
    assert the_job(floor).waiting_for == "?" * LONGEST_FOR
    told = found(floor).decision
    assert told is not None
    assert told.because == "?" * 400


def test_the_newest_decision_counts_and_the_earlier_stay_on_record(floor: Floor) -> None:
    say(floor, way="ask_customer", way_because="cracked at 2E")
    first = found(floor).decision
    assert first is not None
    say(floor, way="scrap", way_because="cracked into the plug hole", had_way=str(first.id))
    newest = found(floor).decision
    assert newest is not None
    assert (newest.way, newest.because) == (InspectionWay.SCRAP, "cracked into the plug hole")
    with floor.database.read() as session:
        ways = session.exec(select(HeadDecision.way).order_by(col(HeadDecision.id))).all()
    assert ways == [InspectionWay.ASK_CUSTOMER, InspectionWay.SCRAP]


def test_the_same_decision_is_not_written_twice(floor: Floor) -> None:
    say(floor, way="go_on")
    say(floor, way="go_on")
    with floor.database.read() as session:
        assert len(session.exec(select(HeadDecision)).all()) == 1


def test_a_head_goes_on_with_what_was_found_before_that_was_said(floor: Floor) -> None:
    say(floor, outcome_crack="not_ok", found_crack="hairline at 2E", had_crack=crack_test(floor))
    assert open_of_head(floor) == ["crack_test"]
    say(floor, way="go_on", way_because="pinned")
    assert open_of_head(floor) == []
    floor.hands.at += timedelta(minutes=5)
    say(floor, outcome_crack="not_ok", found_crack="at the plug too", had_crack=crack_test(floor))
    assert open_of_head(floor) == ["crack_test"]


def test_a_decision_made_meanwhile_is_named_and_nothing_is_stored(floor: Floor) -> None:
    say(floor, way="scrap", way_because="cracked through")
    with pytest.raises(Refused, match="decided “scrap the head” after this page") as no:
        say(floor, way="go_on", outcome_flatness="ok")
    assert no.value.field == "way"
    assert found(floor).decision is not None


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"way": "scrap"}, "way_because"),
        ({"way": "ask_customer"}, "way_because"),
        ({"way_because": "cracked"}, "way"),
        ({"way": "throw it out"}, "way"),
    ],
)
def test_half_a_decision_is_refused_at_its_field(said: dict[str, str], field: str) -> None:
    assert list(InspectionsForm(said, KINDS).errors) == [field]


def test_the_mean_of_three_spots_is_told_against_the_shops_rule(floor: Floor) -> None:
    say(
        floor,
        outcome_hardness="not_ok",
        hardness_1="61",
        hardness_2="63,5",
        hardness_3="59",
    )
    told = found(floor)
    assert told.spots == "61, 63,5, 59 HB"
    # (61 + 63.5 + 59) / 3 = 61.17
    assert told.hardness.startswith(
        "mean 61 HB of 3 spots: by these readings under 65 HB, the shop's least to go on with"
    )
    with floor.database.read() as session:
        rows = session.exec(select(InspectionFigure).order_by(col(InspectionFigure.id))).all()
    assert [(row.place, row.number, row.unit) for row in rows] == [
        ("1", 61.0, "HB"),
        ("2", 63.5, "HB"),
        ("3", 59.0, "HB"),
    ]


@pytest.mark.parametrize(
    ("said", "field", "told"),
    [
        ({"outcome_hardness": "ok", "hardness_1": "9"}, "hardness_1", "20 to 450 HB"),
        ({"outcome_hardness": "ok", "hardness_1": "soft"}, "hardness_1", "a number"),
        ({"outcome_hardness": "ok", "hardness_2": "30"}, "hardness_2", "another scale"),
        ({"hardness_1": "98"}, "outcome_hardness", "Say how it ended"),
        (
            {"outcome_hardness": "not_done", "because_hardness": "no tester", "hardness_1": "98"},
            "outcome_hardness",
            "Figures are typed",
        ),
    ],
)
def test_a_hardness_that_no_head_has_is_refused_and_an_odd_one_asked_about(
    said: dict[str, str], field: str, told: str
) -> None:
    errors = InspectionsForm(said, KINDS).errors
    assert list(errors) == [field]
    assert told in errors[field]


def test_an_odd_hardness_that_is_so_is_kept(floor: Floor) -> None:
    say(floor, outcome_hardness="not_ok", hardness_1="30", confirm_odd="yes")
    assert found(floor).hardness.startswith("mean 30 HB of 1 spot (3 are asked for)")
