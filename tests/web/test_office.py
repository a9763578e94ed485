"""The office page: exceptions first, and nobody ranked."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from starlette.testclient import TestClient

from app.db import Database, now
from app.models.job import Job
from app.models.person import Person
from app.models.port_pass import Hold, HoldRelease
from app.services.write import Write
from app.workflow.kinds import HoldReason
from app.workflow.words import Waiting, Way
from tests.web.conftest import Cast
from tests.web.rows import position
from tests.web.test_jobs import take_in

SignedInAs = Callable[[str], TestClient]


def test_a_new_shop_is_told_its_first_steps_and_an_ordinary_day_says_so(
    signed_in_as: SignedInAs,
) -> None:
    odile = signed_in_as("owner")
    page = odile.get("/office")
    assert "Before the first job" in page.text
    assert "Enter what cuts and what measures" in page.text
    take_in(odile)
    page = odile.get("/office")
    assert "Before the first job" not in page.text
    assert "Nothing is out of the ordinary" in page.text
    assert 'href="/people"' in page.text
    # Seats that were only cut are signed too, and are not counted here.
    assert "Seat rings signed" in page.text
    assert "of those signed" in page.text


def test_late_waiting_held_and_unchecked_stand_first(
    signed_in_as: SignedInAs, database: Database, cast: Cast
) -> None:
    ids = position(database, cast["Marek"])
    with database.write() as session:
        job = session.get_one(Job, ids.job_id)
        job.promised_on = date.today() - timedelta(days=3)
        job.waiting, job.waiting_for = Waiting.PARTS, "oversize rings"
        job.waiting_since = now()
        hold(Write(session, session.get(Person, cast["Marek"])), ids.port_id)
    browser = signed_in_as("owner")
    instrument = {"name": "Mike 1", "kind": "od", "unit": "in", "division": ".0001"}
    browser.post("/crib/instruments", data={**instrument, "check_every_days": "30"})
    browser.post(f"/positions/{ids.port_id}/wanted-rings", data={"od_from": "1.64"})
    page = browser.get("/office").text
    assert "1 job late, 1 position on hold, 1 instrument to check" in page
    assert "will not hold" not in page
    for words in ("26-0001", "oversize rings", "too loose", "Mike 1", "to order"):
        assert words in page


def test_a_signed_deviation_stands_with_who_decided(
    signed_in_as: SignedInAs, database: Database, cast: Cast
) -> None:
    ids = position(database, cast["Marek"])
    with database.write() as session:
        tx = Write(session, session.get(Person, cast["Marek"]))
        held = hold(tx, ids.port_id)
        tx.add(
            HoldRelease(
                by_id=tx.by_id,
                at=tx.at,
                hold_id=held.id,
                way=Way.DEVIATION,
                is_deviation=True,
                value=".0027",
                limit=".0030",
                reason="customer accepts it",
                decided_by="Odile",
                customer_told=True,
            )
        )
    page = signed_in_as("owner").get("/office").text
    assert "<h2>On hold" not in page
    for words in (".0027", ".0030", "customer accepts it", "signed by Marek", "customer told"):
        assert words in page


def test_a_hold_says_whose_job_it_is_and_how_long_it_stands(
    signed_in_as: SignedInAs, database: Database, cast: Cast
) -> None:
    ids = position(database, cast["Marek"])
    with database.write() as session:
        tx = Write(session, session.get(Person, cast["Marek"]))
        tx.at = now() - timedelta(days=4)
        hold(tx, ids.port_id)
    page = signed_in_as("owner").get("/office").text
    row = page.split("<h2>On hold", 1)[1].split("</tr>")[1]
    assert "Shop stock" in row
    assert "4 days" in row


def test_a_promise_that_its_wait_reaches_beyond_will_not_hold(
    signed_in_as: SignedInAs, database: Database, cast: Cast
) -> None:
    ids = position(database, cast["Marek"])
    with database.write() as session:
        job = session.get_one(Job, ids.job_id)
        job.promised_on = date.today() + timedelta(days=2)
        job.waiting, job.waiting_until = Waiting.PARTS, date.today() + timedelta(days=20)
        job.waiting_since = now()
    page = signed_in_as("owner").get("/office").text
    assert "1 promise will not hold" in page
    assert "26-0001" in page.split("Promises that will not hold")[1].split("</section>")[0]


def hold(tx: Write, port_id: int) -> Hold:
    return tx.add(
        Hold(
            by_id=tx.by_id,
            at=tx.at,
            port_id=port_id,
            reason=HoldReason.LOOSE,
            words="the bore is .0015 larger than this ring allows",
        )
    )
