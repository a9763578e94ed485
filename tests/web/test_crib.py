"""The crib's pages, without scripts."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.crib import Cutter, Instrument, Pilot

SignedInAs = Callable[[str], TestClient]

MACHINE = {"name": "Long bed", "travel": "8"}
CUTTER = {"name": "Head 2", "kind": "adjustable", "corner_radius": ".010"}
PILOT = {
    "name": "P 1",
    "unit": "in",
    "guide_diameter": ".3432",
    "shank_diameter": ".3750",
    "measured_on": "2026-01-05",
}
FIXTURE = {"name": "Setter", "unit": "in", "mode": "radius", "division": ".0001"}
INSTRUMENT = {
    "name": "Mike 1",
    "kind": "od",
    "unit": "in",
    "division": ".0001",
    "check_every_days": "30",
}
TOOLS = [
    ("machines", MACHINE),
    ("cutters", CUTTER),
    ("pilots", PILOT),
    ("fixtures", FIXTURE),
    ("instruments", INSTRUMENT),
]


@pytest.mark.parametrize(("noun", "fields"), TOOLS)
def test_a_tool_is_added_shown_changed_and_listed(
    signed_in_as: SignedInAs, noun: str, fields: dict[str, str]
) -> None:
    browser = signed_in_as("machinist")
    assert browser.get(f"/crib/{noun}/new").status_code == 200
    added = browser.post(f"/crib/{noun}", data=fields)
    assert (added.status_code, added.headers["location"]) == (303, "/crib")
    assert fields["name"] in browser.get("/crib").text
    shown = browser.get(f"/crib/{noun}/1")
    assert shown.status_code == 200
    changed = browser.post(f"/crib/{noun}/1", data={**fields, "name": "Renamed"})
    assert changed.status_code == 303
    assert "Renamed" in browser.get(changed.headers["location"]).text


@pytest.mark.parametrize(("noun", "fields"), TOOLS)
def test_a_tool_goes_out_of_use_and_comes_back(
    signed_in_as: SignedInAs, noun: str, fields: dict[str, str]
) -> None:
    browser = signed_in_as("owner")
    browser.post(f"/crib/{noun}", data=fields)
    assert browser.get(f"/crib/{noun}/1/retire").status_code == 200
    assert browser.post(f"/crib/{noun}/1/retire", data={"because": ""}).status_code == 422
    assert "This is the only" in browser.get(f"/crib/{noun}/1/retire").text
    asked = browser.post(f"/crib/{noun}/1/retire", data={"because": "worn"})
    assert (asked.status_code, "It is the last one" in asked.text) == (422, True)
    gone = {"because": "worn", "confirm_last": "yes"}
    assert browser.post(f"/crib/{noun}/1/retire", data=gone).status_code == 303
    assert "Out of use" in browser.get("/crib").text
    assert "Out of use since" in browser.get(f"/crib/{noun}/1").text
    assert browser.post(f"/crib/{noun}/1/bring-back").status_code == 303
    assert browser.post(f"/crib/{noun}/1/bring-back").status_code == 409


def test_one_of_two_instruments_of_a_kind_goes_without_a_question(
    signed_in_as: SignedInAs,
) -> None:
    browser = signed_in_as("owner")
    for name in ("Mike 1", "Mike 2"):
        browser.post("/crib/instruments", data={**INSTRUMENT, "name": name})
    assert "the only" not in browser.get("/crib/instruments/1/retire").text
    gone = browser.post("/crib/instruments/1/retire", data={"because": "worn"})
    assert gone.status_code == 303


@pytest.mark.parametrize(("noun", "fields"), TOOLS)
def test_what_was_typed_stays_when_it_is_refused(
    signed_in_as: SignedInAs, database: Database, noun: str, fields: dict[str, str]
) -> None:
    browser = signed_in_as("machinist")
    browser.post(f"/crib/{noun}", data=fields)
    refused = browser.post(f"/crib/{noun}", data=fields)
    assert refused.status_code == 422
    assert f'value="{fields["name"]}"' in refused.text
    assert "is taken by another" in refused.text
    assert 'role="alert"' in refused.text


def test_a_service_writer_looks_and_does_not_change(signed_in_as: SignedInAs) -> None:
    signed_in_as("machinist").post("/crib/cutters", data=CUTTER)
    browser = signed_in_as("service_writer")
    page = browser.get("/crib/cutters/1")
    assert page.status_code == 200
    assert '<button class="button' not in page.text.split("<main", 1)[1]
    assert browser.get("/crib/cutters/new").status_code == 403
    assert browser.post("/crib/cutters/1/tip", data={"what": "new"}).status_code == 403


def test_an_unknown_tool_or_noun_is_a_404_page(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("machinist")
    for path in ("/crib/cutters/9", "/crib/hammers/1/retire", "/crib/pilots/0", "/crib/pilots/9"):
        assert browser.get(path).status_code == 404
    assert browser.post("/crib/pilots/9/measure", data=PILOT).status_code == 404
    checked = browser.post("/crib/instruments/9/checks", data={"master": "1", "read": "1"})
    assert checked.status_code == 404


def test_a_form_sent_twice_makes_one_cutter(signed_in_as: SignedInAs, database: Database) -> None:
    browser = signed_in_as("machinist")
    sent = {**CUTTER, "client_key": "a" * 32}
    assert [browser.post("/crib/cutters", data=sent).status_code for _ in "12"] == [303, 303]
    with database.read() as session:
        assert len(session.exec(select(Cutter)).all()) == 1


def test_a_tip_change_is_kept_with_what_was_done(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("machinist")
    browser.post("/crib/cutters", data=CUTTER)
    assert browser.post("/crib/cutters/1/tip", data={"what": " "}).status_code == 422
    assert browser.post("/crib/cutters/1/tip", data={"what": "ground <b>"}).status_code == 303
    page = browser.get("/crib/cutters/1").text
    assert "ground &lt;b&gt;" in page
    assert "in it now" in page
    assert "ground &lt;b&gt;" in browser.get("/crib").text


def test_an_odd_pilot_is_asked_about_once(signed_in_as: SignedInAs, database: Database) -> None:
    browser = signed_in_as("machinist")
    odd = {**PILOT, "shank_diameter": ".2500"}
    asked = browser.post("/crib/pilots", data=odd)
    assert asked.status_code == 422
    assert 'name="confirm_shank"' in asked.text
    assert browser.post("/crib/pilots", data={**odd, "confirm_shank": "yes"}).status_code == 303


def test_a_pilot_measured_again_shows_both_measurings(
    signed_in_as: SignedInAs, database: Database
) -> None:
    browser = signed_in_as("machinist")
    browser.post("/crib/pilots", data=PILOT)
    again = {"guide_diameter": ".3431", "shank_diameter": ".3748", "measured_on": "2026-02-01"}
    assert browser.post("/crib/pilots/1/measure", data=again).status_code == 303
    page = browser.get("/crib/pilots/1").text
    for figure in (".3432", ".3750", ".3431", ".3748"):
        assert figure in page
    with database.read() as session:
        assert session.exec(select(Pilot.shank_diameter)).one().inches(4) == ".3748"


def test_a_failed_check_is_shown_until_one_holds(
    signed_in_as: SignedInAs, database: Database
) -> None:
    browser = signed_in_as("machinist")
    browser.post("/crib/instruments", data=INSTRUMENT)
    off = {"master": "1.0000", "read": "1.0003", "master_name": "1 in disc"}
    browser.post("/crib/instruments/1/checks", data=off)
    assert "The last check failed" in browser.get("/crib/instruments/1").text
    assert "last check failed" in browser.get("/crib").text
    browser.post("/crib/instruments/1/checks", data={**off, "read": "1.0001"})
    page = browser.get("/crib/instruments/1").text
    assert "The last check failed" not in page
    assert "check held" in page
    with database.read() as session:
        assert session.exec(select(Instrument.check_every_days)).one() == 30


def test_a_check_far_from_its_master_is_taken_for_a_slip(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("machinist")
    browser.post("/crib/instruments", data=INSTRUMENT)
    slip = browser.post("/crib/instruments/1/checks", data={"master": "1", "read": "25.4"})
    assert slip.status_code == 422
    assert 'value="25.4"' in slip.text
