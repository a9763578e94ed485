"""The heat cases' pages: what holds, changing it, and who may."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

BASE = "/shop-rules/heat-cases"
HARD = f"{BASE}/aluminium/E/hard"
SignedInAs = Callable[[str], TestClient]
NEW = {
    "metal": "aluminium",
    "kind": "E",
    "name": "hot soak",
    "ring_c": "200",
    "head_c": "200",
    "source": "Odile, after a hard run",
}


def test_the_page_shows_every_assumed_case_to_everyone(signed_in_as: SignedInAs) -> None:
    page = signed_in_as("machinist").get(BASE).text
    assert page.count(">overheated<") == 4
    assert "no measured ring temperatures could be read" in page
    assert "Add a case" not in page
    assert f'href="{BASE}"' in signed_in_as("machinist").get("/shop-rules").text


def test_the_owner_adds_a_case(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("owner")
    assert browser.get(f"{BASE}/new?metal=aluminium&kind=E").status_code == 200
    assert browser.post(BASE, data=NEW).status_code == 303
    page = browser.get(BASE).text
    assert "hot soak" in page
    assert "Odile, after a hard run" in page


def test_the_owner_edits_retires_and_goes_back_to_the_default(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("owner")
    sent = {"name": "hard", "ring_c": "320", "head_c": "210", "source": "measured here"}
    assert browser.post(HARD, data={**sent, "seen": "assumed"}).status_code == 303
    page = browser.get(HARD).text
    assert "320" in page
    assert "measured here" in page
    assert "Assumed: ring 300 °C, head 200 °C" in page
    assert browser.post(f"{HARD}/retire", data={"source": ""}).status_code == 422
    assert browser.post(f"{HARD}/retire", data={"source": "not here"}).status_code == 303
    assert "Out of the look" in browser.get(BASE).text
    assert "Look at it again" in browser.get(HARD).text
    assert browser.post(f"{HARD}/default", data={"source": "here again"}).status_code == 303
    assert "here again" in browser.get(HARD).text
    assert "Out of the look" not in browser.get(BASE).text


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("ring_c", "501", "from -60 to 500"),
        ("head_c", "-61", "from -60 to 500"),
        ("ring_c", "warm", "whole number"),
        ("head_c", "", "How hot is the head"),
        ("source", "", "Say who says so"),
        ("name", "", "What is the case called"),
        ("metal", "brass", "not one of the choices"),
    ],
)
def test_a_case_that_cannot_be_is_refused_and_what_was_typed_stays(
    signed_in_as: SignedInAs, field: str, typed: str, says: str
) -> None:
    browser = signed_in_as("owner")
    answer = browser.post(BASE, data={**NEW, field: typed})
    assert answer.status_code == 422
    assert says in answer.text
    assert "hot soak" in answer.text or field == "name"
    assert "hot soak" not in browser.get(BASE).text


@pytest.mark.parametrize(
    ("odd", "says"),
    [
        ({"ring_c": "170", "head_c": "191"}, "hotter than the ring, by 21 °C"),
        ({"ring_c": "400", "head_c": "301"}, "Aluminium at 301 °C at the bore is unusual"),
    ],
)
def test_an_odd_case_is_asked_about_once(
    signed_in_as: SignedInAs, odd: dict[str, str], says: str
) -> None:
    browser = signed_in_as("owner")
    asked = browser.post(BASE, data={**NEW, **odd})
    assert asked.status_code == 422
    assert says in asked.text
    assert browser.post(BASE, data={**NEW, **odd, "confirm_odd": "yes"}).status_code == 303


def test_a_head_a_little_hotter_than_its_ring_is_not_asked_about(
    signed_in_as: SignedInAs,
) -> None:
    near = {**NEW, "ring_c": "170", "head_c": "190"}
    assert signed_in_as("owner").post(BASE, data=near).status_code == 303


@pytest.mark.parametrize("who", ["machinist", "service_writer"])
def test_only_the_owner_changes_a_case(signed_in_as: SignedInAs, who: str) -> None:
    browser = signed_in_as(who)
    assert browser.post(BASE, data=NEW).status_code == 403
    assert browser.post(HARD, data=NEW).status_code == 403
    assert browser.post(f"{HARD}/retire", data={"source": "x"}).status_code == 403
    assert browser.post(f"{HARD}/default", data={"source": "x"}).status_code == 403
    assert browser.get(f"{BASE}/new").status_code == 403
    assert "Change it" not in browser.get(HARD).text


def test_a_case_that_is_not_there_is_not_found(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("owner")
    assert browser.get(f"{BASE}/aluminium/E/own_99").status_code == 404
    assert browser.post(f"{BASE}/iron/I/own_99", data=NEW).status_code == 404
    assert browser.get(f"{BASE}/brass/E/hard").status_code in (404, 422)


def test_a_late_page_does_not_overwrite(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("owner")
    sent = {"name": "hard", "ring_c": "320", "head_c": "210", "source": "x", "seen": "assumed"}
    browser.post(HARD, data=sent)
    late = browser.post(HARD, data={**sent, "ring_c": "310"})
    assert late.status_code == 409
    assert "changed while the page was open" in late.text
