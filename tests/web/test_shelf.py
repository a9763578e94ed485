"""The shelf's pages: boxes, taking rings to a job, wanted rings."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database, now
from app.models.job import Job, WantedRing
from app.models.ring import Ring, RingSet
from app.workflow.words import Ended
from tests.web.conftest import Cast
from tests.web.rows import position

SignedInAs = Callable[[str], TestClient]

BOX = {
    "pieces": "3",
    "part": "SR-14",
    "lot": "L 88",
    "unit": "in",
    "owner": "shop",
    "label_od": "1.625",
    "label_height": ".250",
    "material": "grey_iron",
    "place": "B 4",
}

GONE = {"ring": "4", "because": "chipped"}


def test_an_empty_shelf_says_what_stands_there(signed_in_as: SignedInAs) -> None:
    assert "Nothing on the shelf" in signed_in_as("machinist").get("/shelf").text


def test_a_box_is_put_on_the_shelf_and_found_by_its_lot(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("machinist")
    added = browser.post("/shelf", data=BOX)
    assert added.headers["location"] == "/shelf/1"
    page = browser.get("/shelf/1").text
    assert "SR-14" in page
    assert "1.6250" in page
    assert "SR-14" in browser.get("/shelf?q=l 88").text
    assert "Nothing matches" in browser.get("/shelf?q=%25").text


@pytest.mark.parametrize(
    ("change", "field"),
    [({"pieces": "0"}, "pieces"), ({"label_od": "41"}, "label-od"), ({"part": ""}, "part")],
)
def test_a_box_that_cannot_be_keeps_what_was_typed(
    signed_in_as: SignedInAs, change: dict[str, str], field: str
) -> None:
    refused = signed_in_as("machinist").post("/shelf", data={**BOX, **change})
    assert refused.status_code == 422
    assert f'href="#f-{field}"' in refused.text
    assert 'value="L 88"' in refused.text


def test_what_the_box_says_is_put_right(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("machinist")
    browser.post("/shelf", data=BOX)
    assert browser.post("/shelf/1", data={**BOX, "label_od": "1.635"}).status_code == 303
    assert "1.6350" in browser.get("/shelf/1").text


def test_rings_come_go_and_are_taken_to_a_job(
    signed_in_as: SignedInAs, database: Database, cast: Cast
) -> None:
    position(database, cast["Marek"])
    browser = signed_in_as("machinist")
    browser.post("/shelf", data=BOX)
    assert browser.post("/shelf/1/rings", data={"pieces": "1"}).status_code == 303
    assert browser.post("/shelf/1/gone", data={"ring": "4"}).status_code == 422
    assert browser.post("/shelf/1/gone", data=GONE).status_code == 303
    assert browser.post("/shelf/1/take", data={"number": "26-0001"}).status_code == 422
    unknown = browser.post("/shelf/1/take", data={"number": "26-0099", "ring_1": "yes"})
    assert unknown.status_code == 422
    assert "There is no job 26-0099" in unknown.text
    taken = browser.post("/shelf/1/take", data={"number": "26-0001", "ring_1": "yes"})
    assert taken.headers["location"] == "/ring-sets/2"
    with database.read() as session:
        assert session.exec(select(Ring.ring_set_id).where(Ring.id == 1)).one() == 2


def test_rings_left_over_from_a_job_that_is_over_come_back(
    signed_in_as: SignedInAs, database: Database, cast: Cast
) -> None:
    ids = position(database, cast["Marek"])
    browser = signed_in_as("machinist")
    browser.post("/shelf", data=BOX)
    everything = {"number": "26-0001", **{f"ring_{n}": "yes" for n in (1, 2, 3)}}
    browser.post("/shelf/1/take", data=everything)
    assert browser.get("/shelf/1").status_code == 404
    with database.write() as session:
        job = session.get_one(Job, ids.job_id)
        job.ended_as, job.ended_at = Ended.HANDED_OVER, now()
    assert "Left over" in browser.get("/shelf").text
    assert "Ring 2" in browser.get("/shelf/1/put-back").text
    assert browser.post("/shelf/1/put-back").status_code == 422
    back = browser.post("/shelf/1/put-back", data={"ring_1": "yes", "ring_2": "yes"})
    assert back.headers["location"] == "/shelf/2"
    with database.read() as session:
        assert session.get_one(RingSet, 2).job_id is None


def test_a_service_writer_looks_at_the_shelf_and_wants_rings(
    signed_in_as: SignedInAs, database: Database, cast: Cast
) -> None:
    ids = position(database, cast["Marek"])
    signed_in_as("machinist").post("/shelf", data=BOX)
    browser = signed_in_as("service_writer")
    assert "Take the ticked rings" not in browser.get("/shelf/1").text
    assert browser.post("/shelf", data=BOX).status_code == 403
    assert browser.get(f"/positions/{ids.port_id}/wanted-rings/new").status_code == 200


def test_a_wanted_ring_is_ordered_arrives_and_offers_to_be_measured(
    signed_in_as: SignedInAs, database: Database, cast: Cast
) -> None:
    ids = position(database, cast["Marek"])
    browser = signed_in_as("service_writer")
    empty = browser.post(f"/positions/{ids.port_id}/wanted-rings", data={"height": ".25"})
    assert empty.status_code == 422
    assert 'value=".25"' in empty.text
    wanted = browser.post(
        f"/positions/{ids.port_id}/wanted-rings", data={"od_from": "1.636", "od_to": "1.640"}
    )
    assert wanted.headers["location"] == "/wanted-rings/1"
    assert "to order" in browser.get("/shelf").text
    wrong_day = browser.post("/wanted-rings/1/order", data={"expected_on": "soon"})
    assert wrong_day.status_code == 422
    browser.post("/wanted-rings/1/order", data={"expected_on": "2026-01-05"})
    assert "late" in browser.get("/shelf").text
    assert browser.post("/wanted-rings/1/arrive").status_code == 303
    page = browser.get("/wanted-rings/1").text
    assert "/jobs/26-0001/ring-sets/new" in page
    assert "Measure it" in browser.get("/shelf").text
    assert browser.post("/wanted-rings/1/arrive").status_code == 409


def test_a_dropped_ring_leaves_the_list(
    signed_in_as: SignedInAs, database: Database, cast: Cast
) -> None:
    ids = position(database, cast["Marek"])
    browser = signed_in_as("machinist")
    browser.post(f"/positions/{ids.port_id}/wanted-rings", data={"note": "any oversize"})
    assert browser.post("/wanted-rings/1/drop", data={"because": ""}).status_code == 422
    assert browser.post("/wanted-rings/1/drop", data={"because": "scrapped"}).status_code == 303
    assert "any oversize" not in browser.get("/shelf").text
    with database.read() as session:
        assert session.exec(select(WantedRing.note)).one() == "any oversize · dropped: scrapped"


def test_unknown_boxes_and_rings_are_404_pages(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("machinist")
    for path in ("/shelf/9", "/wanted-rings/9", "/positions/9/wanted-rings/new"):
        assert browser.get(path).status_code == 404
    for path in ("/shelf/9/take", "/shelf/9/put-back", "/positions/9/wanted-rings"):
        assert browser.post(path, data={"number": "26-0001"}).status_code in (404, 409, 422)
