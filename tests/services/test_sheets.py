"""Issued sheets: numbered, hashed, sealed by the log, and never another byte."""

from __future__ import annotations

import hashlib
import json
from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from sqlmodel import col, select

from app.calc.trace import canonical, sha256
from app.db import Database
from app.forms.ends import EndForm, VoidForm
from app.models.customer import Customer
from app.models.event import Event
from app.models.head import Head
from app.models.job import Job
from app.models.reading import Reading
from app.models.sheet import Sheet
from app.queries.papers import papers_of
from app.services.ends import end_job, void_job
from app.services.readings import strike_reading
from app.services.sheets import hand_over_and_issue, issue_sheet
from app.services.write import NotFound, Refused
from app.web.sheet_page import drawer
from app.workflow.kinds import Quantity, SheetKind
from seed_demo.hands import filled, leaving
from tests.services.finished import finish_head
from tests.services.floor import Floor

DRAW = drawer("http://shop.example:8137")


def issue(
    floor: Floor, kind: SheetKind, head: Head | None = None, key: str = "", because: str = ""
) -> Sheet:
    """Issue one sheet of the floor's job, by the machinist."""
    with floor.hands.writing() as tx:
        tx.client_key, tx.request_sha256 = key or None, "b" * 64
        return issue_sheet(tx, kind, floor.job, head, DRAW, because)


def kept(database: Database, sheet: Sheet) -> Sheet:
    with database.read() as session:
        return session.get_one(Sheet, sheet.id)


def figures(sheet: Sheet) -> Any:
    return json.loads(sheet.data)["figures"]


def test_an_issued_sheet_is_hashed_as_it_is_stored(floor: Floor, database: Database) -> None:
    sheet = kept(database, issue(floor, SheetKind.SET_UP, floor.head))
    assert sheet.rev == 1
    assert sheet.sha256 == hashlib.sha256(sheet.html.encode("utf-8")).hexdigest()
    assert canonical(json.loads(sheet.data)) == sheet.data
    style = sheet.html.partition("<style>")[2].partition("</style>")[0]
    assert hashlib.sha256(style.encode("utf-8")).hexdigest() == sheet.style_sha256


@pytest.mark.parametrize("stage", [finish_head])
def test_its_bytes_stay_whatever_changes_later(floor: Floor, database: Database) -> None:
    first = issue(floor, SheetKind.RECORD, floor.head)
    before = kept(database, first).html
    with database.write() as session:
        session.exec(select(Customer)).one().name = "Fern Hollow Estate"
        session.get_one(Head, floor.head.id).casting = "FH 999"
    with database.read() as session:
        bore = session.exec(select(Reading).where(Reading.quantity == Quantity.BORE)).all()[-1]
    with floor.hands.writing() as tx:
        strike_reading(tx, bore.id, "gauge was not zeroed", floor.head)
    second = kept(database, issue(floor, SheetKind.SET_UP))
    again = kept(database, first)
    assert again.html == before
    assert sha256(again.html) == first.sha256
    assert "Fern Hollow Farm" in again.html
    assert "FH 221" in again.html
    assert "Fern Hollow Estate" in second.html
    assert "FH 999" in second.html


def test_the_database_refuses_to_change_or_remove_a_sheet(floor: Floor, database: Database) -> None:
    issue(floor, SheetKind.TAG)
    for statement in ("UPDATE sheet SET html = 'other'", "DELETE FROM sheet"):
        with pytest.raises(DBAPIError), database.write() as session:
            session.execute(text(statement))


def test_revisions_count_for_each_kind_and_head(floor: Floor, database: Database) -> None:
    made = [
        issue(floor, SheetKind.TAG),
        issue(floor, SheetKind.SET_UP, floor.head),
        issue(floor, SheetKind.TAG, because="another rack"),
        issue(floor, SheetKind.SET_UP, floor.head, because="another cutter"),
        issue(floor, SheetKind.SET_UP),
    ]
    assert [sheet.rev for sheet in made] == [1, 1, 2, 2, 1]
    with database.read() as session:
        papers = papers_of(session, session.get_one(Job, floor.job.id))
    assert [(p.kind.value, p.head_id, p.rev, p.is_superseded) for p in papers] == [
        ("set_up", None, 1, False),
        ("set_up", floor.head.id, 2, False),
        ("tag", None, 2, False),
        ("set_up", floor.head.id, 1, True),
        ("tag", None, 1, True),
    ]
    assert papers[0].by == "Max"


def test_the_log_holds_the_hash_of_the_sheet_and_the_sheet_the_head_of_the_log(
    floor: Floor, database: Database
) -> None:
    with database.read() as session:
        before = session.exec(select(Event).order_by(col(Event.id).desc())).first()
    sheet = kept(database, issue(floor, SheetKind.TAG))
    with database.read() as session:
        event = session.exec(select(Event).order_by(col(Event.id).desc())).first()
    assert before is not None
    assert event is not None
    assert sheet.log_head == before.hash == event.prev
    assert sheet.log_head[:16] in sheet.html
    body = json.loads(event.body)
    assert body["sha256"] == sheet.sha256
    assert body["data_sha256"] == sha256(sheet.data)


def test_a_form_sent_twice_issues_once(floor: Floor, database: Database) -> None:
    first, second = (issue(floor, SheetKind.TAG, key="a1") for _ in range(2))
    assert first.id == second.id
    with database.read() as session:
        assert len(session.exec(select(Sheet)).all()) == 1


def test_a_record_waits_for_the_signature_and_says_whose(floor: Floor) -> None:
    finish_head(floor, is_signed=False)
    with pytest.raises(Refused, match="Not signed yet: 1E, 1I, 2I, 2E, 3E, 3I and 4I"):
        issue(floor, SheetKind.RECORD, floor.head)


def test_a_job_that_ended_another_way_gets_its_record_unsigned(floor: Floor) -> None:
    form = filled(EndForm({"ended_as": "scrapped", "note": "cracked at 2E"}))
    with floor.hands.writing() as tx:
        end_job(tx, floor.job.number, form)
    html = issue(floor, SheetKind.RECORD, floor.head).html
    assert "cracked at 2E" in html
    assert "Nobody has signed yet." in html


def test_nothing_is_issued_for_a_voided_job(floor: Floor) -> None:
    form = filled(VoidForm({"because": "typed twice"}))
    with floor.hands.by(floor.cast.owner).writing() as tx:
        void_job(tx, floor.job.number, form)
    with pytest.raises(Refused, match="was voided"):
        issue(floor, SheetKind.TAG)


def test_a_head_of_another_job_is_not_found(floor: Floor) -> None:
    other = floor.hands.by(floor.cast.service_writer).take_in(
        customer="Brook Lane Garage", wanted="knocks"
    )
    with pytest.raises(NotFound):
        issue(floor, SheetKind.SET_UP, floor.hands.heads(other)[0])


def test_a_record_needs_its_head(floor: Floor) -> None:
    with pytest.raises(Refused, match="Choose the head"):
        issue(floor, SheetKind.RECORD)


@pytest.mark.parametrize("stage", [finish_head])
def test_handing_over_issues_each_record_sealed_over_the_hand_over(
    floor: Floor, database: Database
) -> None:
    with floor.hands.by(floor.cast.service_writer).writing() as tx:
        tx.client_key, tx.request_sha256 = "c3", "d" * 64
        hand_over_and_issue(tx, floor.job, leaving("Fern"), DRAW)
    with database.read() as session:
        handed = session.exec(select(Event).where(Event.verb == "handed over")).one()
        assert session.exec(select(Event).where(Event.client_key == "c3")).one().subject == "sheet"
        sheets = session.exec(select(Sheet).order_by(col(Sheet.id))).all()
    record, customers = sheets
    assert [sheet.kind for sheet in sheets] == [SheetKind.RECORD, SheetKind.CUSTOMER]
    assert record.log_head == handed.hash
    assert "collected by Fern" in record.html
    assert "Handed over to Fern" in record.html
    assert "collected by Fern" in customers.html
    assert customers.log_head in customers.html


@pytest.mark.parametrize("stage", [finish_head])
def test_nothing_on_a_record_contradicts_the_sum_above_it(floor: Floor) -> None:
    sheet = issue(floor, SheetKind.RECORD, floor.head)
    fits = [one["fit"] for one in figures(sheet)["positions"] if one["fit"]]
    assert [(fit["od"], fit["bore"], fit["interference"]) for fit in fits] == [
        ("1.62615", "1.62220", ".00395")
    ] * 2
    for fit in fits:
        for unit in ("", "other_"):
            ring, bore = Decimal(fit[f"{unit}od"]), Decimal(fit[f"{unit}bore"])
            assert ring - bore == Decimal(fit[f"{unit}interference"])
            assert fit[f"{unit}od"] in sheet.html
    assert fits[0]["value"] == {"nm": 100330}
    # A mean over the set is not taken for readings of one ring; the ring's own mean stands by it.
    assert {fit["od_told"] for fit in fits} == {"mean of the 2 rings of the set"}
    assert "mean of the 2 rings of the set<br>ring 1, its own mean" in sheet.html
    assert "ring OD, mean of 2 rings" in sheet.html
    # The working is printed line for line, once for positions that share it.
    workings = figures(sheet)["workings"]
    assert [(one["kind"], one["labels"]) for one in workings] == [
        ("target", ["2E", "3E"]),
        ("setting", ["2E", "3E"]),
        ("depth_stop", ["2E", "3E"]),
        ("verification", ["2E", "3E"]),
    ]
    for block in workings:
        for step in block["steps"]:
            assert step["value"].lower() in sheet.html.lower()


def test_not_done_is_printed_with_its_reason(floor: Floor) -> None:
    form = filled(EndForm({"ended_as": "returned_unrepaired", "note": "as it is"}))
    with floor.hands.writing() as tx:
        end_job(tx, floor.job.number, form)
    html = issue(floor, SheetKind.RECORD, floor.head).html
    assert "Wall behind the counterbore, 2E and 3E: not done, because no thickness gauge here" in (
        html
    )


def test_a_deviation_names_value_limit_and_who_decided(floor: Floor) -> None:
    floor.bored(last="1.6232")
    floor.hands.by(floor.cast.owner).way_out(
        floor.ports["3E"],
        "deviation",
        "customer wants it back today",
        value=".00295",
        limit=".0030",
        decided_by="Olive",
        customer_told="yes",
    )
    form = filled(EndForm({"ended_as": "returned_unrepaired", "note": "as it is"}))
    with floor.hands.writing() as tx:
        end_job(tx, floor.job.number, form)
    sheet = issue(floor, SheetKind.RECORD, floor.head)
    (hold,) = figures(sheet)["holds"]
    assert (hold["label"], hold["is_deviation"], hold["decided_by"]) == ("3E", True, "Olive")
    assert hold["customer_told"] is True
    assert "Deviation: .00295 against .0030" in sheet.html
    assert "customer wants it back today" in sheet.html


def test_a_set_up_sheet_names_its_positions_and_no_other(floor: Floor) -> None:
    setting = floor.set_and_clamped()
    (page,) = figures(issue(floor, SheetKind.SET_UP))["pages"]
    assert page["setting"]["name"] == f"S-{setting.id}"
    assert page["setting"]["reading"] == {"nm": setting.reading.nm if setting.reading else None}
    assert [line["label"] for line in page["positions"]] == ["2E", "3E"]
    (stop,) = page["stops"]
    assert stop["labels"] == ["2E", "3E"]
    # Touch-off .3120 and depth .2501.
    assert stop["stop"] == {"nm": 14_277_340}
    assert page["clamp"]["machine"] == "Seat-and-guide machine"


def test_a_set_up_sheet_before_any_setting_leaves_room_to_write(floor: Floor) -> None:
    sheet = issue(floor, SheetKind.SET_UP)
    (page,) = figures(sheet)["pages"]
    assert (page["setting"], page["clamp"], page["stops"]) == (None, None, [])
    assert "No setting yet: write down what is set." in sheet.html
