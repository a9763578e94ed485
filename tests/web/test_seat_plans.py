"""Seats wanted: one form for each kind of seat; scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.seat_plan import SeatPlan
from tests.web.bench import Bench, events
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]
KEEP = "Keep for all exhaust seats"
WANTED = {
    "width_wanted": ".070",
    "outer_wanted": "1.520",
    "valve_head": "1.560",
    "valve_angle": "44",
    "source": "the engine's manual",
}
TOLD = "exhaust: 45°, top 30°, throat 60°, land .070 wide, outer edge 1.520"


@pytest.fixture
def stage() -> str:
    """Rings in, seats to finish."""
    return "ringed"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek").get(f"/heads/{bench.head.id}/seats")


def kept(database: Database) -> list[SeatPlan]:
    with database.read() as session:
        return list(session.exec(select(SeatPlan).order_by(SeatPlan.id)))  # type: ignore[arg-type]


def test_it_starts_from_the_shops_angles_and_says_so(marek: Walk) -> None:
    marek.says("Nothing is said of them yet. The angles below are the shop's: common practice.")
    exhaust = next(form for form in marek.forms if form.buttons(KEEP))
    typed = {each.name: each.value for each in exhaust.controls if each.kind == "text"}
    assert (typed["seat_angle"], typed["top_angle"], typed["throat_angle"]) == ("45", "30", "60")


def test_what_is_kept_stands_on_the_page_and_on_the_finish_grid(bench: Bench, marek: Walk) -> None:
    marek.send(WANTED, press=KEEP).says(TOLD, "the engine's manual; Marek")
    marek.get(f"/heads/{bench.head.id}/finish")
    marek.says("E" + TOLD[1:], "(the engine's manual)")
    marek.says("Intake: 45°, top 30°, throat 60° (the shop's angles; its widths are .040 to .080)")
    assert ("cuts", bench.at("3E", "seat")) in marek.links


def test_a_later_version_leaves_the_earlier_one_on_the_page(
    marek: Walk, database: Database
) -> None:
    marek.send(WANTED, press=KEEP).send(width_wanted=".080", press=KEEP)
    marek.says("land .080 wide", "What was wanted before", TOLD)
    assert len(kept(database)) == 2


def test_a_slip_is_named_at_its_field_and_what_was_typed_stays(
    marek: Walk, database: Database
) -> None:
    marek.send({**WANTED, "outer_wanted": "1.57"}, press=KEEP, status=422)
    marek.says("Outer edge wanted: lies outside the valve head, which is 1.560")
    assert 'value="1.57"' in marek.text
    assert 'id="rE-outer-wanted-error"' in marek.text
    assert kept(database) == []


def test_what_is_odd_is_asked_once_and_then_kept(marek: Walk, database: Database) -> None:
    marek.send({**WANTED, "width_wanted": ".120"}, press=KEEP, status=422)
    marek.says("Is it so? A land .120 wide is outside the shop's widths")
    marek.send(confirm_odd="yes", press=KEEP).says("land .120 wide")
    assert len(kept(database)) == 1


def test_two_tablets_do_not_write_over_each_other_unseen(
    bench: Bench, marek: Walk, signed_in_as: SignedInAs
) -> None:
    odile = Walk(signed_in_as("Odile"), "Odile").get(f"/heads/{bench.head.id}/seats")
    marek.send(WANTED, press=KEEP)
    odile.send({**WANTED, "width_wanted": ".060"}, press=KEEP, status=409)
    odile.says("These seats were changed while the page was open", TOLD)
    assert 'value=".060"' in odile.text
    odile.send({}, press=KEEP).says("land .060 wide")


def test_the_same_once_more_writes_nothing(marek: Walk, database: Database) -> None:
    marek.send(WANTED, press=KEEP)
    with database.read() as session:
        before = events(session)
    marek.send({}, press=KEEP)
    with database.read() as session:
        assert events(session) == before


def test_the_counter_sees_it_and_keeps_none(bench: Bench, signed_in_as: SignedInAs) -> None:
    wilma = Walk(signed_in_as("Wilma"), "Wilma").get(f"/heads/{bench.head.id}/seats")
    wilma.says("Exhaust seats", "Nothing is said of them yet")
    assert "Keep for all" not in wilma.words
    refused = wilma.browser.post(f"/heads/{bench.head.id}/seats", data={"kind": "E", **WANTED})
    assert refused.status_code == 403
    assert "Only a machinist or an owner may say what the seats are to be." in refused.text


def test_a_form_without_a_kind_comes_back_with_what_is_wrong(
    bench: Bench, signed_in_as: SignedInAs
) -> None:
    answer = signed_in_as("Marek").post(f"/heads/{bench.head.id}/seats", data={"kind": ""})
    assert answer.status_code == 422
    assert "Which seats?" in answer.text


def test_the_job_page_leads_here(bench: Bench, marek: Walk) -> None:
    marek.get(f"/jobs/{bench.job.number}").follow("Seats wanted")
    assert marek.url == f"/heads/{bench.head.id}/seats"


@pytest.mark.parametrize("sheet", ["/heads/{head}/record", "/jobs/{job}/set-up"])
def test_new_sheets_say_what_was_wanted_of_this_head_alone(
    bench: Bench, marek: Walk, sheet: str
) -> None:
    sheet = sheet.format(head=bench.head.id, job=bench.job.number)
    assert "seats wanted" not in marek.get(sheet).words.lower()
    marek.get(f"/heads/{bench.head.id}/seats").send(WANTED, press=KEEP)
    assert TOLD in marek.get(sheet).words
    assert "intake: 45°" not in marek.words
