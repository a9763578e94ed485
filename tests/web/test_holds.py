"""A position on hold and its ways out, with scripts off."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.port_pass import Hold, HoldRelease, PortPass, RingIn
from app.models.reading import Reading
from app.models.ring import RingSet
from app.services.readings import strike_reading
from app.workflow.kinds import Quantity
from app.workflow.words import Stage
from tests.web.bench import Bench, cells, hidden, send, words

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def stage() -> str:
    """How far the bench is; a test that starts elsewhere says so."""
    return "set"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("Marek")


@pytest.fixture
def too_large(bench: Bench) -> Bench:
    """2E was bored .0023 larger than it should be."""
    setting = bench.first_pass(bench.setting)
    bench.bore("2E", setting, "1.6245")
    bench.hands.prove(bench.ports["2E"])
    return bench


def test_every_way_out_stands_side_by_side_with_what_it_needs_and_what_is_not_known(
    too_large: Bench, marek: TestClient
) -> None:
    page = marek.get(too_large.at("2E", "hold"))
    told = words(page)
    assert "2E is on hold" in told
    assert "Too loose by .00135: interference .00165, needs .00300." in told
    assert page.text.count('<li class="way">') == 8
    assert "Nothing is left to cut for this ring" in told
    assert "Would need a ring of about" in told
    assert "Not known: wall behind the bore" in told
    assert "For the owner." in told


def test_ring_bore_and_interference_of_a_held_position_subtract_on_every_page(
    bench: Bench, marek: TestClient
) -> None:
    setting = bench.first_pass(bench.setting)
    bench.hands.cut(bench.ports["2E"], setting, ["1.6247", "1.6246", ".2501"])
    bench.hands.prove(bench.ports["2E"])
    hold = words(marek.get(bench.at("2E", "hold")))
    found = re.search(r"Ring (1\.\d+) − bore (1\.\d+) = interference (\.\d+)", hold)
    assert found is not None
    ring, bore, interference = map(Decimal, found.groups())
    assert bore == Decimal("1.62465")
    assert ring - bore == interference
    job = words(marek.get(f"/jobs/{bench.job.number}"))
    line = re.search(r"2E exhaust (1\.\d+) 1\.\d+ (1\.\d+) (\.\d+) on hold", job)
    assert line is not None
    assert line.groups() == found.groups()
    assert f"in a bore of about {bore + Decimal('.0010')} or more" in hold


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_bore_cut_large_leads_to_its_hold(bench: Bench, marek: TestClient) -> None:
    setting = bench.setting
    bench.bore("2E", setting, "1.6245")
    page = marek.get(bench.at("2E", "cut"))
    assert "2E goes on hold: ways out" in words(page)
    fields = dict(
        zip(cells(page, "across", "along", "depth"), ["1.6245", "1.6245", ".2501"], strict=True)
    )
    odd = send(marek, bench.at("2E", "cut/bored"), **hidden(page), **fields)
    assert odd.status_code == 422
    assert "Radius read as diameter" in words(odd)
    answer = send(
        marek,
        bench.at("2E", "cut/bored"),
        confirm_odd_overcut="yes",
        **hidden(page),
        **fields,
    )
    assert answer.headers["location"] == bench.at("2E", "hold")


def test_nothing_is_cut_or_pressed_while_a_position_is_on_hold(
    too_large: Bench, marek: TestClient
) -> None:
    assert "2E is on hold" in words(marek.get(too_large.at("2E", "cut")))
    page = words(marek.get(too_large.at("2E", "ring-in")))
    assert "2E: not yet" in page
    assert "2E: on hold" in page


def test_a_closed_way_is_refused_in_words(
    too_large: Bench, marek: TestClient, database: Database
) -> None:
    answer = send(marek, too_large.at("2E", "hold/way"), way="cut_again", reason="once more")
    assert answer.status_code == 422
    assert "Nothing is left to cut for this ring" in words(answer)
    with database.read() as session:
        assert session.exec(select(HoldRelease)).all() == []


def test_a_way_is_taken_with_a_reason_and_what_was_typed_is_kept(
    too_large: Bench, marek: TestClient
) -> None:
    answer = send(marek, too_large.at("2E", "hold/way"), way="larger_ring", reason=" ")
    assert answer.status_code == 422
    assert "Say why, in a few words" in words(answer)
    assert '<details class="take" open>' in answer.text


def test_a_bore_cut_large_is_rescued_by_a_larger_ring_that_was_measured_first(
    too_large: Bench, marek: TestClient, database: Database
) -> None:
    bench, hands = too_large, too_large.hands
    taken = send(
        marek, bench.at("2E", "hold/way"), way="larger_ring", reason="bored .0023 too large"
    )
    assert taken.status_code == 303
    assert taken.headers["location"] == f"/jobs/{bench.job.number}/ring-sets/new"
    assert "No setting names 2E yet" in words(marek.get(bench.at("2E", "cut")))
    ring_set = hands.rings(
        bench.job,
        [bench.ports["2E"]],
        [["1.6362", "1.6362", "1.6361", "1.6361", ".2500", ".2502", ".2501", "1.376"]],
    )
    setting = hands.set_to(
        hands.make_setting(
            bench.job,
            [bench.ports["2E"]],
            cutter=bench.cutter.id,
            fixture=bench.fixture.id,
            pilot=bench.pilot.id,
        )
    )
    # The tip is still little known: a first pass under size, then to size.
    hands.cut(bench.ports["2E"], setting, ["1.6302", "1.6302", ""])
    hands.correct(setting, "1.6302", 1)
    hands.set_to(setting)
    hands.cut(bench.ports["2E"], setting, ["1.6322", "1.6322", ".2501"])
    page = marek.get(bench.at("2E", "cut"))
    assert "Clear of both limits by these readings" in words(page)
    answer = send(marek, bench.at("2E", "cut/bored"), **hidden(page))
    assert answer.status_code == 303
    ring = hands.rings_of(ring_set)[0]
    pressed = send(
        marek,
        bench.at("2E", "ring-in"),
        **{
            f"in.{bench.ports['2E'].id}": "yes",
            f"ring.{bench.ports['2E'].id}": str(ring.id),
            f"od_check.{bench.ports['2E'].id}": "1.6362",
            "way": "press",
            "feeler": "does not enter",
        },
    )
    assert pressed.status_code == 303, words(pressed)
    with database.read() as session:
        passes = session.exec(
            select(PortPass).where(PortPass.port_id == bench.ports["2E"].id).order_by(PortPass.nth)  # type: ignore[arg-type]
        ).all()
        assert [each.nth for each in passes] == [1, 2]
        assert session.exec(select(RingIn.ring_id)).all() == [ring.id]
    assert bench.stage("2E") is Stage.VERIFY


def test_a_deviation_past_the_limit_is_the_owners_to_sign(
    too_large: Bench, marek: TestClient, signed_in_as: SignedInAs, database: Database
) -> None:
    fields = {
        "way": "deviation",
        "reason": "customer's race head, one season",
        "decided_by": "Odile",
        "customer_told": "yes",
    }
    refused = send(marek, too_large.at("2E", "hold/way"), **fields)
    assert refused.status_code == 422
    assert "only the owner signs such a deviation" in words(refused)
    assert "one season" in refused.text
    odile = signed_in_as("Odile")
    unsaid = send(odile, too_large.at("2E", "hold/way"), **(fields | {"customer_told": ""}))
    assert "Say whether the customer was told" in words(unsaid)
    answer = send(odile, too_large.at("2E", "hold/way"), **fields)
    assert answer.status_code == 303
    with database.read() as session:
        release = session.exec(select(HoldRelease)).one()
        assert release.is_deviation
        assert release.value == "interference .00165"
        assert release.customer_told


def test_a_bore_that_is_read_again_says_that_bore_and_depth_are_both_wanted(
    too_large: Bench, marek: TestClient
) -> None:
    assert "Read bore and depth again, cold" in words(marek.get(too_large.at("2E", "hold")))
    send(marek, too_large.at("2E", "hold/way"), way="read_again", reason="gauge bumped")
    told = words(marek.get(too_large.at("2E", "cut")))
    assert "“Bore proved” no longer counts : bore and depth are read again. Gauge both" in told
    assert "Still good: ring and target." in told
    assert "Open: bore and depth" in told


def test_a_way_without_a_reason_is_refused_at_its_own_card(
    too_large: Bench, marek: TestClient
) -> None:
    answer = send(marek, too_large.at("2E", "hold/way"), way="weld", reason="")
    assert answer.status_code == 422
    card = next(each for each in answer.text.split('<li class="way">') if "Not taken yet" in each)
    assert "<h3>Weld" in card
    assert answer.text.count("Not taken yet") == 1


def test_a_deviation_says_its_value_and_limit_before_anything_is_typed(
    too_large: Bench, signed_in_as: SignedInAs
) -> None:
    page = signed_in_as("Odile").get(too_large.at("2E", "hold"))
    assert 'value="interference .00165"' in page.text
    assert 'value=".0030 to .0050"' in page.text


def test_a_way_sent_twice_is_taken_once(
    too_large: Bench, marek: TestClient, database: Database
) -> None:
    for _ in range(2):
        answer = send(
            marek,
            too_large.at("2E", "hold/way"),
            key="e" * 32,
            way="read_again",
            reason="gauge bumped",
        )
        assert answer.status_code == 303
    late = send(marek, too_large.at("2E", "hold/way"), way="read_again", reason="again")
    assert late.status_code == 409
    assert "is not on hold any more" in words(late)
    with database.read() as session:
        assert len(session.exec(select(HoldRelease)).all()) == 1


def test_stop_and_ask_keeps_the_hold_and_notes_who_was_asked(
    too_large: Bench, marek: TestClient
) -> None:
    answer = send(
        marek, too_large.at("2E", "hold/way"), way="stop_and_ask", reason="rang Fern, no answer"
    )
    assert answer.headers["location"] == too_large.at("2E", "hold")
    assert "2E is on hold" in words(marek.get(too_large.at("2E", "hold")))


def test_anything_wrong_stops_a_position_with_words(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    assert "Stop 2E" in words(marek.get(bench.at("2E", "hold")))
    empty = send(marek, bench.at("2E", "hold"), words="")
    assert empty.status_code == 422
    assert "Say what is wrong" in words(empty)
    stopped = send(marek, bench.at("2E", "hold"), words="it chatters")
    assert stopped.status_code == 303
    assert "it chatters" in words(marek.get(bench.at("2E", "hold")))
    again = send(marek, bench.at("2E", "hold"), words="it chatters")
    assert again.status_code == 409
    with database.read() as session:
        assert len(session.exec(select(Hold)).all()) == 1


@pytest.mark.parametrize("stage", ["corrected"])
def test_stopping_from_the_cut_page_keeps_what_was_gauged(bench: Bench, marek: TestClient) -> None:
    setting = bench.setting
    bench.hands.cut(bench.ports["2E"], setting, ["1.6222", "", ""])
    page = marek.get(bench.at("2E", "cut"))
    along = cells(page, "along")[0]
    answer = send(
        marek, bench.at("2E", "cut/readings"), then="stop", **{along: "1.6224"}, **hidden(page)
    )
    assert answer.headers["location"] == bench.at("2E", "hold")
    assert 'value="1.6224"' in marek.get(bench.at("2E", "cut")).text


@pytest.mark.parametrize("stage", ["corrected"])
def test_what_no_longer_stands_says_what_to_redo_and_what_is_still_good(
    bench: Bench, marek: TestClient
) -> None:
    setting = bench.setting
    bench.bore("2E", setting, "1.6222")
    bench.hands.prove(bench.ports["2E"])
    page = marek.get(bench.at("2E", "cut"))
    reading_id = int(page.text.split("/cut/readings/")[1].split("/")[0])
    struck = send(
        marek, bench.at("2E", f"cut/readings/{reading_id}/strike"), reason="read across a chip"
    )
    assert struck.status_code == 303
    told = words(marek.get(bench.at("2E", "cut")))
    assert "What no longer stands" in told
    assert "Gauge the bore again." in told
    assert "Still good: ring, target, depth." in told
    pressed = words(marek.get(bench.at("2E", "ring-in")))
    assert "Gauge the bore again." in pressed


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_ring_reading_struck_after_boring_asks_for_the_ring_again(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    bench.bore("2E", setting, "1.6222")
    bench.hands.prove(bench.ports["2E"])
    with database.read() as session:
        ring_set = session.exec(select(RingSet)).one()
    with bench.hands.writing() as tx:
        first = tx.session.exec(select(Reading).where(Reading.quantity == Quantity.RING_OD)).first()
        assert first is not None
        strike_reading(tx, first.id, "dropped", tx.session.get_one(RingSet, ring_set.id))
    told = words(marek.get(bench.at("2E", "cut")))
    assert "Read the ring again" in told
    assert "Still good: bore and depth as gauged" in told
