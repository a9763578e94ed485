"""The owner says who can sign in, as what; everyone has their own PIN."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.event import Event
from tests.web.conftest import Cast

SignedInAs = Callable[[str], TestClient]
NEW = {"name": "Nele", "role": "machinist", "pin": "8642", "pin_again": "8642"}


def test_the_owner_adds_someone_who_can_then_sign_in(
    signed_in_as: SignedInAs, client: TestClient
) -> None:
    owner = signed_in_as("owner")
    assert owner.post("/people", data=NEW).headers["location"] == "/people"
    page = owner.get("/people").text
    assert '<a href="/office" aria-current="page">Office</a>' in page
    assert '<p class="aside"><a href="/office">Office</a></p>' in page
    assert "Nele can sign in now." in page
    (nele,) = re.findall(r'/sign-in/(\d+)"><b>Nele', client.get("/sign-in").text)
    assert client.post(f"/sign-in/{nele}", data={"pin": "8642"}).status_code == 303


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("name", "", "What is the name?"),
        ("name", "marek", "Someone is called Marek already."),
        ("name", "Rufus", "Someone who retired is called Rufus already."),
        ("name", "x" * 61, "is longer than 60 characters"),
        ("name", "Ne\x00le", "has a character that cannot be written here"),
        ("role", "boss", "is not one of the choices"),
        ("role", "", "Choose what they do here."),
        ("pin", "471", "must have 4 to 12 digits"),
        ("pin", "1234", "among the first that anyone would try"),
        ("pin_again", "8643", "The two PINs differ."),
    ],
)
def test_what_cannot_be_a_person_is_refused_and_kept(
    signed_in_as: SignedInAs, field: str, value: str, said: str
) -> None:
    answer = signed_in_as("owner").post("/people", data=NEW | {field: value})
    assert answer.status_code == 422
    assert said in answer.text
    assert "8642" not in answer.text
    if field != "role":
        assert 'value="machinist" checked' in answer.text


def test_a_new_role_holds_from_the_next_page(signed_in_as: SignedInAs, cast: Cast) -> None:
    owner, marek = signed_in_as("owner"), signed_in_as("Marek")
    assert marek.get("/people").status_code == 403
    fields = {"name": "Marek", "role": "owner"}
    assert owner.post(f"/people/{cast['Marek']}", data=fields).status_code == 303
    assert marek.get("/people").status_code == 200


def test_renaming_keeps_who_someone_is(signed_in_as: SignedInAs, cast: Cast) -> None:
    owner, marek = signed_in_as("owner"), signed_in_as("Marek")
    fields = {"name": "Marek K", "role": "machinist"}
    owner.post(f"/people/{cast['Marek']}", data=fields)
    assert "Marek K" in marek.get("/my-pin").text


def test_a_name_changed_by_someone_else_meanwhile_is_not_overwritten(
    signed_in_as: SignedInAs, cast: Cast
) -> None:
    owner = signed_in_as("owner")
    form = owner.get(f"/people/{cast['Marek']}/edit").text
    (version,) = re.findall(r'name="row_version" value="(\d+)"', form)
    stale = {"role": "machinist", "row_version": version}
    first = owner.post(f"/people/{cast['Marek']}", data=stale | {"name": "Marek K"})
    assert first.status_code == 303
    second = owner.post(f"/people/{cast['Marek']}", data=stale | {"name": "Marek L"})
    assert second.status_code == 409
    assert "changed this person in the meantime" in second.text


def test_the_last_owner_stays_owner(signed_in_as: SignedInAs, cast: Cast) -> None:
    owner = signed_in_as("owner")
    demoted = owner.post(f"/people/{cast['Odile']}", data={"name": "Odile", "role": "machinist"})
    assert demoted.status_code == 422
    assert "This is the only owner" in demoted.text
    retired = owner.post(f"/people/{cast['Odile']}/retire")
    assert retired.status_code == 409
    assert "This is the only owner" in retired.text
    assert owner.get("/people").status_code == 200


def test_an_owner_may_go_when_there_is_another(signed_in_as: SignedInAs, cast: Cast) -> None:
    owner = signed_in_as("owner")
    owner.post(f"/people/{cast['Marek']}", data={"name": "Marek", "role": "owner"})
    assert owner.post(f"/people/{cast['Odile']}/retire").status_code == 303
    assert owner.get("/people").status_code == 303


def test_retiring_signs_out_everywhere_and_keeps_the_name(
    signed_in_as: SignedInAs, cast: Cast, client: TestClient
) -> None:
    owner, marek = signed_in_as("owner"), signed_in_as("Marek")
    assert owner.post(f"/people/{cast['Marek']}/retire").status_code == 303
    assert marek.get("/my-pin").status_code == 303
    assert "Marek" not in client.get("/sign-in").text
    assert "Marek" in owner.get("/people").text


def test_the_owner_ends_the_sign_ins_of_someone(
    signed_in_as: SignedInAs, cast: Cast, client: TestClient
) -> None:
    owner, marek, other = signed_in_as("owner"), signed_in_as("Marek"), signed_in_as("Marek")
    edit = f"/people/{cast['Marek']}/edit"
    assert "On 2 devices, last used" in owner.get(edit).text
    ended = owner.post(f"/people/{cast['Marek']}/sign-ins")
    assert ended.headers["location"] == edit
    page = owner.get(edit).text
    assert "Marek signs in again on every device." in page
    assert "Nowhere now." in page
    assert [each.get("/my-pin").status_code for each in (marek, other)] == [303, 303]
    pin = {"pin": cast.pins["Marek"]}
    assert client.post(f"/sign-in/{cast['Marek']}", data=pin).status_code == 303


def test_an_owner_who_lost_a_tablet_stays_where_it_is_told(
    signed_in_as: SignedInAs, cast: Cast
) -> None:
    here, lost = signed_in_as("owner"), signed_in_as("owner")
    assert here.post(f"/people/{cast['Odile']}/sign-ins").status_code == 303
    assert "on every other device." in here.get("/people").text
    assert lost.get("/people").status_code == 303


def test_a_pin_by_the_owner_signs_out_everywhere(
    signed_in_as: SignedInAs, cast: Cast, client: TestClient
) -> None:
    owner, marek = signed_in_as("owner"), signed_in_as("Marek")
    new = {"pin": "8642", "pin_again": "8642"}
    assert owner.post(f"/people/{cast['Marek']}/pin", data=new).status_code == 303
    assert marek.get("/my-pin").status_code == 303
    old = client.post(f"/sign-in/{cast['Marek']}", data={"pin": cast.pins["Marek"]})
    assert old.status_code == 422
    assert client.post(f"/sign-in/{cast['Marek']}", data={"pin": "8642"}).status_code == 303


def test_ones_own_pin_needs_the_old_one_and_signs_out_the_other_devices(
    signed_in_as: SignedInAs, cast: Cast, client: TestClient
) -> None:
    here, elsewhere = signed_in_as("Marek"), signed_in_as("Marek")
    new = {"pin": "8642", "pin_again": "8642"}
    wrong = here.post("/my-pin", data=new | {"old_pin": "9999"})
    assert wrong.status_code == 422
    assert "That is not the PIN" in wrong.text
    right = here.post("/my-pin", data=new | {"old_pin": cast.pins["Marek"]})
    assert right.status_code == 303
    assert here.get("/my-pin").status_code == 200
    assert elsewhere.get("/my-pin").status_code == 303
    assert client.post(f"/sign-in/{cast['Marek']}", data={"pin": "8642"}).status_code == 303


def test_guessing_the_old_pin_on_a_tablet_left_alone_waits_too(
    signed_in_as: SignedInAs, cast: Cast
) -> None:
    tablet = signed_in_as("Marek")
    new = {"pin": "8642", "pin_again": "8642"}
    for _ in range(3):
        tablet.post("/my-pin", data=new | {"old_pin": "9999"})
    answer = tablet.post("/my-pin", data=new | {"old_pin": cast.pins["Marek"]})
    assert answer.status_code == 422
    assert "Wait" in answer.text


@pytest.mark.parametrize("end", ["", "/pin", "/sign-ins", "/retire"])
def test_who_is_not_there_cannot_be_changed(signed_in_as: SignedInAs, cast: Cast, end: str) -> None:
    owner = signed_in_as("owner")
    for person_id in (cast["Rufus"], 999):
        assert owner.get(f"/people/{person_id}/edit").status_code == 404
        assert owner.post(f"/people/{person_id}{end}", data=NEW).status_code == 404
    assert owner.get("/people/99999999999/edit").status_code == 404


def test_a_double_press_on_retire_is_one_retirement(signed_in_as: SignedInAs, cast: Cast) -> None:
    owner = signed_in_as("owner")
    key = {"client_key": "a1b2c3"}
    for _ in range(2):
        assert owner.post(f"/people/{cast['Marek']}/retire", data=key).status_code == 303


def test_the_log_keeps_no_mark_of_a_form_with_a_pin(
    signed_in_as: SignedInAs, cast: Cast, database: Database
) -> None:
    """Four digits are quickly guessed back from a plain hash of the form."""
    owner = signed_in_as("owner")
    new = {"pin": "8642", "pin_again": "8642", "client_key": "a1b2c3"}
    assert owner.post("/people", data=NEW | {"client_key": "d4e5f6"}).status_code == 303
    assert owner.post(f"/people/{cast['Marek']}/pin", data=new).status_code == 303
    mine = new | {"old_pin": cast.pins["Odile"], "client_key": "071829"}
    assert owner.post("/my-pin", data=mine).status_code == 303
    with database.read() as session:
        marks = session.exec(select(Event.request_sha256)).all()
    assert not any(marks)
