"""The bench: what can be done now, what was left open, and at the same cost for any shop."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta

import pytest
from sqlalchemy import event
from sqlmodel import Session
from starlette.testclient import TestClient

from app.calc.units import Length
from app.db import Database, now
from app.models.crib import Instrument, InstrumentCheck
from app.models.job import Job
from app.queries.bench import bench as bench_view
from app.services.cuts import open_cut
from app.services.cutters import change_tip
from app.workflow.kinds import InstrumentKind, Unit
from app.workflow.words import Waiting
from tests.web.bench import Bench, words

SignedIn = Callable[[str], TestClient]


def test_it_is_the_machinists_home(signed_in_as: SignedIn) -> None:
    browser = signed_in_as("Marek")
    assert browser.get("/").headers["location"] == "/bench"
    assert "Nothing to do at the bench now" in words(browser.get("/bench"))


def test_a_head_shows_its_next_steps_together(bench: Bench, signed_in_as: SignedIn) -> None:
    shown = signed_in_as("Marek").get("/bench")
    told = words(shown)
    assert "1 head can be worked on now" in told
    assert "2E and 3E: measure the ring (a ring set)" in told
    assert "5 positions: finish the seat" in told
    assert f'href="/jobs/{bench.job.number}/ring-sets/new"' in shown.text


@pytest.mark.parametrize(
    ("waiting", "title"),
    [
        (Waiting.CUSTOMER, "1 head can be worked on now, 1 head waits"),
        (Waiting.WELDER, "1 head can be worked on now, 1 head waits"),
        (Waiting.PARTS, "2 heads can be worked on now"),
    ],
)
def test_a_job_that_waits_is_marked_and_stands_after_the_others(
    bench: Bench, database: Database, signed_in_as: SignedIn, waiting: Waiting, title: str
) -> None:
    bench.set_and_clamped()
    other = Bench.__new__(Bench)
    other.__dict__ |= bench.__dict__
    more_work(other, 0)
    with database.write() as session:
        job = session.get_one(Job, bench.job.id)
        job.waiting, job.waiting_for = waiting, "the left manifold"
    told = words(signed_in_as("Marek").get("/bench"))
    assert title in told
    assert f"{waiting.screen}: the left manifold" in told
    assert told.index(f"{other.job.number} Farm 0") < told.index(f"{bench.job.number} Fern Hollow")


def test_a_measured_ring_goes_on_to_the_plan(bench: Bench, signed_in_as: SignedIn) -> None:
    bench.read_rings()
    shown = signed_in_as("Marek").get("/bench")
    assert "2E and 3E: plan the setting" in words(shown)
    assert f'href="/jobs/{bench.job.number}/plan"' in shown.text


def test_a_cutter_that_is_set_shows_its_size_and_what_is_left(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    setting = bench.set_and_clamped()
    shown = signed_in_as("Marek").get("/bench")
    told = words(shown)
    assert f"Adjustable 2 {bench.job.number} S-{setting.id} .8100 radius to cut: 2E and 3E" in told
    assert "set and read" in told
    assert "on the machine" in told
    assert "2E and 3E: cut and gauge" in told


def test_a_setting_comes_before_the_clamp_up_and_that_before_the_cut(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    bench.read_rings()
    setting = bench.hands.make_setting(
        bench.job,
        [bench.ports["2E"], bench.ports["3E"]],
        cutter=bench.cutter.id,
        fixture=bench.fixture.id,
        pilot=bench.pilot.id,
    )
    browser = signed_in_as("Marek")
    shown = browser.get("/bench")
    assert f"2E and 3E: set Adjustable 2 (S-{setting.id})" in words(shown)
    assert f'href="/settings/{setting.id}"' in shown.text
    bench.hands.set_to(setting)
    shown = browser.get("/bench")
    assert "2E and 3E: clamp up and cut" in words(shown)
    assert f'href="/heads/{bench.head.id}/clamp-ups/new"' in shown.text


def test_another_person_is_sent_to_read_the_cutter_again(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    setting = bench.set_and_clamped()
    told = words(signed_in_as("Odile").get("/bench"))
    assert f"read Adjustable 2 again (S-{setting.id})" in told
    assert "read the fixture once more: another person set it" in told


def test_a_tip_change_asks_for_the_setting_to_be_made_again(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    setting = bench.set_and_clamped()
    with bench.hands.writing() as tx:
        change_tip(tx, bench.cutter.id, "ground")
    told = words(signed_in_as("Marek").get("/bench"))
    assert f"2E and 3E: make S-{setting.id} again" in told
    assert "make it again: the cutter's tip was seen to: ground" in told


def test_what_was_opened_and_not_recorded_is_asked_about(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    setting = bench.set_and_clamped()
    with bench.hands.writing() as tx:
        opening = open_cut(tx, bench.ports["3E"], setting.id, was_touched=True)
    shown = signed_in_as("Marek").get("/bench")
    assert f"You opened 3E of {bench.job.number} at" in words(shown)
    assert "was it cut?" in words(shown)
    assert f'href="/positions/{bench.ports["3E"].id}/cut"' in shown.text
    assert "Marek opened 3E" in words(signed_in_as("Odile").get("/bench"))
    assert opening.id


def test_a_hold_stands_first_and_leads_to_its_ways_out(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    setting = bench.corrected()
    bench.bore("3E", setting, "1.62465")
    bench.hands.prove(bench.ports["3E"])
    shown = signed_in_as("Marek").get("/bench")
    told = words(shown)
    assert f"3E of {bench.job.number} is on hold." in told
    assert "3E: choose a way out" in told
    assert f'href="/positions/{bench.ports["3E"].id}/hold"' in shown.text


def test_an_instrument_whose_check_is_due_is_named(bench: Bench, signed_in_as: SignedIn) -> None:
    with bench.hands.writing() as tx:
        gauge = tx.add(
            Instrument(
                name="Bore gauge 1",
                kind=InstrumentKind.BORE,
                unit=Unit.INCH,
                division=Length.of(".0001"),
                check_every_days=7,
            )
        )
        tx.add(
            InstrumentCheck(
                instrument_id=gauge.id,
                master=Length.of("1.6250"),
                read=Length.of("1.6250"),
                is_within=True,
                by_id=tx.by_id,
                at=now() - timedelta(days=8),
            )
        )
    told = words(signed_in_as("Marek").get("/bench"))
    assert "Instruments due Bore gauge 1 check due" in told


def test_the_counters_turn_is_told_apart(bench: Bench, signed_in_as: SignedIn) -> None:
    bench.hands.by(bench.cast.service_writer).take_in(customer="Thistle Works", wanted="valve job")
    told = words(signed_in_as("Marek").get("/bench"))
    assert "Not at the bench now" in told
    assert "Thistle Works: describe the head" in told


def test_the_statements_do_not_grow_with_the_jobs(bench: Bench, database: Database) -> None:
    bench.set_and_clamped()
    one = statements(database, bench)
    for seq in range(2):
        other = Bench.__new__(Bench)
        other.__dict__ |= bench.__dict__
        more_work(other, seq)
    assert statements(database, bench) == one


def more_work(bench: Bench, seq: int) -> None:
    """Another job at the same stage."""
    hands = bench.hands.by(bench.cast.service_writer)
    bench.job = hands.take_in(customer=f"Farm {seq}", wanted="burnt exhaust seats")
    bench.head = hands.heads(bench.job)[0]
    hands.describe(
        bench.head, casting=f"FH {seq}", material="grey_iron", layout="EIIEEIIE", valves="2"
    )
    hands.decide(
        bench.head,
        {"2E": "ring", "3E": "ring", "4E": "leave", "*": "seat_only"},
        {"*": "casting"},
    )
    hands.agree(bench.job, "Farm")
    hands.by(bench.cast.machinist)
    bench.ports = hands.ports(bench.head)
    bench._inspected()
    bench.set_and_clamped()


def statements(database: Database, bench: Bench) -> int:
    with database.read() as session, counted(session) as found:
        bench_view(session, person_id=bench.cast.machinist.id, at=now(), today=now().date())
    return len(found)


@contextmanager
def counted(session: Session) -> Iterator[list[str]]:
    """The statements that a session sends."""
    found: list[str] = []
    engine = session.get_bind()

    def note(_conn, _cursor, statement, *_rest):  # type: ignore[no-untyped-def]
        found.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    try:
        yield found
    finally:
        event.remove(engine, "before_cursor_execute", note)
