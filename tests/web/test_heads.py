"""Describing a head and deciding its positions, with scripts off."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape

import pytest
from sqlmodel import col, select
from starlette.testclient import TestClient

from app.db import Database
from app.models.event import Event
from app.models.head import Head, Port
from app.models.job import Job
from app.workflow.words import Material, SeatNow, Work
from tests.web.pages import Walk
from tests.web.test_jobs import take_in

SignedIn = Callable[[str], TestClient]

EIGHT = {
    "casting": "hl-4410-b",
    "material": "grey_iron",
    "heat_history": "none_known",
    "unit": "in",
    "cylinder_count": "4",
    "valves": "2",
    "pattern": "EIIEEIIE",
    "numbered_from": "timing end",
}


def head_of(database: Database) -> Head:
    with database.read() as session:
        return session.exec(select(Head).order_by(col(Head.id).desc())).first()  # type: ignore[return-value]


def ports_of(database: Database, head: Head) -> dict[str, Port]:
    with database.read() as session:
        rows = session.exec(
            select(Port)
            .where(Port.head_id == head.id, col(Port.is_void).is_(False))
            .order_by(col(Port.place))
        )
        return {port.label: port for port in rows}


def described(browser: TestClient, database: Database, **fields: str) -> Head:
    take_in(browser)
    head = head_of(database)
    answer = browser.post(f"/heads/{head.id}/edit", data=EIGHT | fields)
    assert answer.status_code == 303, answer.text
    return head_of(database)


def test_a_head_is_described_and_goes_on_to_its_positions(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    take_in(wilma)
    head = head_of(database)
    answer = wilma.post(f"/heads/{head.id}/edit", data=EIGHT)
    assert answer.headers["location"] == f"/heads/{head.id}/positions"
    head = head_of(database)
    assert (head.casting, head.material) == ("HL-4410-B", Material.GREY_IRON)
    assert list(ports_of(database, head)) == ["1E", "1I", "2I", "2E", "3E", "3I", "4I", "4E"]


@pytest.mark.parametrize(
    ("history", "told"),
    [
        ("overheated", "aluminium, overheated, inch"),
        ("unknown", "aluminium, history unknown, inch"),
        ("", "aluminium, history unknown, inch"),
        ("none_known", "aluminium, inch"),
    ],
)
def test_what_is_known_of_heat_stands_beside_the_material_on_job_and_bench(
    signed_in_as: SignedIn, database: Database, history: str, told: str
) -> None:
    marek = signed_in_as("machinist")
    head = described(marek, database, material="aluminium", heat_history=history)
    with database.read() as session:
        number = session.get_one(Job, head.job_id).number
    job = marek.get(f"/jobs/{number}").text
    assert told in job
    assert f"8 valves, {told.removesuffix(', inch')}" in job
    assert told in marek.get(f"/heads/{head.id}/stem-heights").text


def test_without_scripts_a_button_offers_patterns_and_keeps_what_was_typed(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    take_in(wilma)
    head = head_of(database)
    fields = {"engine": "marine four", "cylinder_count": "4", "valves": "4", "patterns": "yes"}
    page = wilma.post(f"/heads/{head.id}/edit", data=fields).text
    assert 'value="IIIIIIII/EEEEEEEE"' in page
    assert 'value="marine four"' in page
    assert head_of(database).engine == ""


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"pattern": "EIIEEIX"}, "not a valve"),
        ({"pattern": "EIIEE"}, "do not share out"),
        ({"pattern": "", "layout": "EIIE/EI/EI"}, "one row or two"),
        ({"cylinders": "1-3-5"}, "3 cylinder numbers typed"),
        ({"cylinders": "1-1-5-7"}, "typed 2 times"),
        ({"valves": "", "cylinder_count": "", "pattern": "IIII/EEEE"}, "How many valves a cyl"),
        ({"valves": "", "pattern": "", "cylinder_count": "-4x"}, "must be a whole number"),
        ({"cylinder_count": "13"}, "must be from 1 to 12"),
        ({"pattern": ""}, "Touch how the valves lie"),
        ({"valves": "9"}, "must be from 2 to 5"),
        ({"material": "wood"}, "not one of the choices"),
        ({"casting_none_found": "yes"}, "take one away"),
        ({"numbered_from": "other"}, "Which end"),
        ({"numbered_from_other": "front"}, "Touch “another end” for this to count"),
        ({"casting": "x" * 61}, "longer than 60"),
        ({"pattern": "", "cylinders": "1-3-5-7"}, "cylinder numbers alone"),
    ],
)
def test_what_does_not_fit_is_named_kept_and_not_stored(
    signed_in_as: SignedIn, database: Database, fields: dict[str, str], message: str
) -> None:
    wilma = signed_in_as("service_writer")
    take_in(wilma)
    head = head_of(database)
    answer = wilma.post(f"/heads/{head.id}/edit", data=EIGHT | {"engine": "marine four"} | fields)
    page = unescape(answer.text)
    assert answer.status_code == 422
    assert 'role="alert"' in page
    assert message in page
    assert 'value="marine four"' in page
    assert head_of(database).material is None
    assert ports_of(database, head) == {}


def test_a_typed_order_wins_over_a_touched_one(signed_in_as: SignedIn, database: Database) -> None:
    wilma = signed_in_as("service_writer")
    head = described(wilma, database, layout="ieeiieei")
    assert head.layout == "IEEIIEEI"


def test_a_typed_order_says_how_many_valves_a_cylinder_has(
    signed_in_as: SignedIn, database: Database
) -> None:
    typed = {"layout": "EIIEEIIE", "pattern": "", "valves": "", "cylinder_count": ""}
    head = described(signed_in_as("service_writer"), database, **typed)
    assert (head.layout, head.valves_per_cylinder) == ("EIIEEIIE", 2)


def test_the_same_casting_is_proposed_and_taken_over_with_one_touch(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    before = described(wilma, database)
    number = take_in(wilma)
    head = head_of(database)
    seen = wilma.get(f"/heads/{head.id}/seen?casting=HL-4410-b").text
    assert "This casting was here before" in seen
    wilma.post(f"/heads/{head.id}/edit", data={"casting": "HL-4410-B", "unit": "in"})
    assert "Take these over" in wilma.get(f"/jobs/{number}").text
    answer = wilma.post(f"/heads/{head.id}/take-over", data={"from_head": str(before.id)})
    assert answer.status_code == 303
    assert list(ports_of(database, head)) == list(ports_of(database, before))


def test_two_touches_and_one_choice_decide_a_head(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    head = described(wilma, database)
    at = f"/heads/{head.id}/positions"
    assert "All exhausts: seat ring" in wilma.get(at).text
    wilma.post(at, data={"quick": "exhausts:ring"})
    wilma.post(at, data={"quick": "rest:seat_only"})
    wilma.post(at, data={"quick": "all:casting"})
    four = ports_of(database, head)["4E"]
    answer = wilma.post(at, data={f"work_{four.id}": "leave"})
    assert re.fullmatch(r"/jobs/[\d-]+", answer.headers["location"])
    ports = ports_of(database, head)
    assert [port.work for port in ports.values()].count(Work.RING) == 3
    assert ports["4E"].work is Work.LEAVE
    assert {port.seat_now for port in ports.values()} == {SeatNow.CASTING}


def test_unknown_choices_for_a_position_are_refused(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    head = described(wilma, database)
    port = ports_of(database, head)["1E"]
    for fields in ({f"work_{port.id}": "polish"}, {"quick": "exhausts:polish"}):
        assert wilma.post(f"/heads/{head.id}/positions", data=fields).status_code == 422
    assert ports_of(database, head)["1E"].work is Work.UNDECIDED


def test_a_keep_that_changes_nothing_leaves_no_trace(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = Walk(signed_in_as("service_writer"))
    at = f"/heads/{described(wilma.browser, database).id}/positions"

    def decided() -> int:
        with database.read() as session:
            events = session.exec(select(Event.verb)).all()
        return events.count("decided the work of positions")

    wilma.get(at).send(press="Keep")
    assert decided() == 0
    wilma.get(at).send(press="The rest: seat only")
    wilma.get(at).send(press="Keep")
    assert decided() == 1


def test_positions_of_a_head_without_layout_say_what_is_missing(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    take_in(wilma)
    head = head_of(database)
    assert "No valve layout yet" in wilma.get(f"/heads/{head.id}/positions").text
    assert wilma.post(f"/heads/{head.id}/positions", data={}).status_code == 409


def test_the_job_page_draws_each_head(signed_in_as: SignedIn, database: Database) -> None:
    wilma = signed_in_as("service_writer")
    head = described(wilma, database)
    wilma.post(f"/heads/{head.id}/positions", data={"quick": "exhausts:ring"})
    with database.read() as session:
        number = session.exec(select(Job.number)).one()
    page = unescape(wilma.get(f"/jobs/{number}").text)
    assert "Head map, timing end at the left" in page
    assert page.count('class="spot spot-') == 8
    assert "0 of 4 seat rings in" in page
