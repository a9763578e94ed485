"""A touch is taken back with one touch: the toast holds the form, the record keeps both."""

from __future__ import annotations

import html
import re
from collections.abc import Callable

import pytest
from sqlmodel import col, select
from starlette.testclient import TestClient

from app.db import Database
from app.models.event import Event
from app.models.head import Port
from app.models.job import Job, PriceLine
from app.models.ring import Ring, RingSet
from app.workflow.words import Waiting, Work
from tests.web.bench import Bench

SignedInAs = Callable[[str], TestClient]
BOX = {"pieces": "2", "part": "SR-14", "unit": "in", "owner": "shop", "label_od": "1.625"}


def undo_of(browser: TestClient, sent: str, **typed: str) -> tuple[str, dict[str, str]]:
    """Send a form, go on, and find what its toast would send."""
    done = browser.post(sent, data=typed)
    assert done.status_code == 303, done.text
    page = browser.get(done.headers["location"]).text
    toast = re.search(r'data-undo-seconds="10".*?</form>', page, re.DOTALL)
    assert toast, page
    action = re.search(r'action="([^"]+)"', toast[0])
    assert action
    fields = re.findall(r'name="([^"]+)" value="([^"]*)"', toast[0])
    return action[1], {name: html.unescape(value) for name, value in fields}


def undone(browser: TestClient, sent: str, **typed: str) -> None:
    action, fields = undo_of(browser, sent, **typed)
    answer = browser.post(action, data=fields)
    assert answer.status_code == 303, answer.text


def verbs(database: Database) -> list[str]:
    with database.read() as session:
        return list(session.exec(select(Event.verb).order_by(col(Event.id).desc()).limit(2)))


def test_a_price_line_is_struck_and_counts_again(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    browser = signed_in_as("service_writer")
    lines = f"/jobs/{bench.job.number}/price-lines"
    undone(browser, lines, text="Seat rings", amount="120")
    with database.read() as session:
        line = session.exec(select(PriceLine).order_by(col(PriceLine.id).desc())).first()
    assert line is not None
    assert line.voided_at is not None
    browser.post(f"{lines}/{line.id}/put-back")
    undone(browser, f"{lines}/{line.id}/strike")
    with database.read() as session:
        assert session.get_one(PriceLine, line.id).voided_at is None
    assert verbs(database) == ["put a price line back", "struck a price line"]
    assert browser.post(f"{lines}/{line.id}/put-back").status_code == 409


def test_a_place_a_promise_and_a_waiting_stand_as_before(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    browser = signed_in_as("service_writer")
    here = f"/jobs/{bench.job.number}"
    browser.post(f"{here}/place", data={"place": "rack 3"})
    browser.post(f"{here}/promise", data={"promised_on": ""})
    undone(browser, f"{here}/place", place="rack 9")
    undone(browser, f"{here}/promise", promised_on="2027-02-01")
    typed = {"waiting": "parts", "waiting_for": "two rings", "since": "2026-01-05"}
    browser.post(f"{here}/waiting", data=typed)
    undone(browser, f"{here}/waiting/over")
    with database.read() as session:
        job = session.get_one(Job, bench.job.id)
        assert (job.place, job.promised_on) == ("rack 3", None)
        assert (job.waiting, job.waiting_for) == (Waiting.PARTS, "two rings")
        assert job.waiting_since is not None
        assert job.waiting_since.date().isoformat() == "2026-01-05"


def test_the_work_of_many_positions_stands_as_before_and_nothing_else_is_touched(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    def stands() -> dict[int, object]:
        with database.read() as session:
            ports = session.exec(select(Port).where(Port.head_id == bench.head.id)).all()
            return {port.id: (port.work, port.seat_now) for port in ports}

    before = stands()
    browser = signed_in_as("service_writer")
    here = f"/heads/{bench.head.id}/positions"
    action, fields = undo_of(browser, here, quick="exhausts:ring")
    changed = {port_id for port_id, each in stands().items() if each != before[port_id]}
    assert {name for name in fields if name.startswith("work_")} == {f"work_{n}" for n in changed}
    assert browser.post(action, data=fields).status_code == 303
    assert stands() == before


def test_work_that_another_page_decided_since_is_not_taken_back(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    browser = signed_in_as("service_writer")
    action, fields = undo_of(browser, f"/heads/{bench.head.id}/positions", quick="intakes:ring")
    port_id = next(int(name[5:]) for name in fields if name.startswith("work_"))
    other = {f"work_{port_id}": "leave", f"had_{port_id}": fields[f"had_{port_id}"]}
    browser.post(f"/heads/{bench.head.id}/positions", data=other)
    refused = browser.post(action, data=fields)
    assert refused.status_code == 409
    assert "on another page meanwhile" in refused.text
    with database.read() as session:
        assert session.get_one(Port, port_id).work is Work.LEAVE


def test_a_ring_off_the_shelf_is_in_its_box_again(
    signed_in_as: SignedInAs, database: Database
) -> None:
    browser = signed_in_as("machinist")
    browser.post("/shelf", data=BOX)
    undone(browser, "/shelf/1/gone", ring="2", because="chipped")
    with database.read() as session:
        ring = session.get_one(Ring, 2)
        assert (ring.retired_at, ring.retired_because) == (None, "")
    assert browser.post("/shelf/1/rings/2/back").status_code == 409


def test_rings_taken_to_a_job_go_back_and_forth(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    browser = signed_in_as("machinist")
    box = browser.post("/shelf", data=BOX).headers["location"]
    box_id = int(box.rsplit("/", 1)[1])
    with database.read() as session:
        rings = session.exec(select(Ring.id).where(Ring.ring_set_id == box_id)).all()
    ticked = {f"ring_{ring_id}": "yes" for ring_id in rings}
    undone(browser, f"{box}/take", number=bench.job.number, **ticked)
    with database.read() as session:
        assert session.get_one(RingSet, box_id).job_id is None
    browser.post(f"{box}/take", data={"number": bench.job.number, **ticked})
    undone(browser, f"{box}/put-back", **ticked)
    with database.read() as session:
        assert session.get_one(RingSet, box_id).job_id == bench.job.id


@pytest.mark.parametrize("stage", ["set"])
def test_a_ring_put_away_is_back_in_its_set(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    browser = signed_in_as("machinist")
    with database.read() as session:
        ring = session.exec(select(Ring)).first()
    assert ring is not None
    undone(browser, f"/ring-sets/{ring.ring_set_id}/rings/{ring.id}/away", because="chipped")
    with database.read() as session:
        assert session.get_one(Ring, ring.id).retired_at is None
    assert verbs(database) == ["brought a ring back", "put a ring away"]


def test_a_job_ended_too_early_is_open_again(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    browser = signed_in_as("service_writer")
    undone(browser, f"/jobs/{bench.job.number}/end", ended_as="cancelled", note="sold the engine")
    with database.read() as session:
        assert session.get_one(Job, bench.job.id).ended_as is None


def test_a_reason_for_not_done_is_taken_back(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    browser = signed_in_as("machinist")
    said = {"key": "pressure_before", "because": "no tester here"}
    undone(browser, f"/heads/{bench.head.id}/not-done", **said)
    assert verbs(database)[0] == "took back a not done"


def test_an_undo_leads_only_to_this_shop(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("service_writer")
    for address in ("https://elsewhere.example/x", "//elsewhere.example/x"):
        browser.cookies.set("said_80", f"Kept.%0A%0A{address}")
        page = browser.get("/counter").text
        assert "data-undo-seconds" not in page
        assert "elsewhere" not in page
