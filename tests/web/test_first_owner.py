"""The first owner comes in with the code printed on the console."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from app.config import Settings
from app.db import Database
from app.main import create_app
from app.models.shop import Shop
from tests.web.conftest import HERE

FIRST = {
    "code": "TEST-CODE",
    "shop_name": "Lindenau Heads",
    "name": "Odile",
    "pin": "4711",
    "pin_again": "4711",
    "unit": "mm",
    "currency": "EUR",
    "zone": "Europe/Vienna",
    "base_address": "http://shop-pc:8137/",
}


@pytest.fixture
def empty(make_settings: Callable[..., Settings], sqlite_database: Database) -> TestClient:
    """A browser at a shop that nobody opened yet."""
    app = create_app(make_settings(), sqlite_database)
    return TestClient(app, base_url=HERE, headers={"Origin": HERE}, follow_redirects=False)


def test_the_code_opens_the_shop_and_its_owner_signs_in(
    empty: TestClient, sqlite_database: Database
) -> None:
    assert empty.get("/").headers["location"] == "/sign-in"
    assert empty.get("/sign-in").headers["location"] == "/first-owner"
    assert "Code on the console" in empty.get("/first-owner").text
    opened = empty.post("/first-owner", data=FIRST)
    assert (opened.status_code, opened.headers["location"]) == (303, "/sign-in/1")
    assert "The shop is open." in empty.get("/sign-in/1").text
    assert empty.post("/sign-in/1", data={"pin": "4711"}).status_code == 303
    assert empty.get("/people").status_code == 200
    with sqlite_database.read() as session:
        shop = session.get(Shop, 1)
        assert shop is not None
        assert (shop.name, shop.zone, shop.unit.value) == ("Lindenau Heads", "Europe/Vienna", "mm")
        assert shop.base_address == "http://shop-pc:8137"


def test_it_is_closed_for_good_once_there_is_an_owner(client: TestClient) -> None:
    assert client.get("/first-owner").headers["location"] == "/sign-in"
    assert client.post("/first-owner", data=FIRST | {"name": "Eve"}).status_code == 303
    assert "Eve" not in client.get("/sign-in").text


@pytest.mark.parametrize("typed", ["test-code", "TESTCODE", " test code "])
def test_the_code_may_be_typed_as_people_type(empty: TestClient, typed: str) -> None:
    assert empty.post("/first-owner", data=FIRST | {"code": typed}).status_code == 303


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("code", "", "That is not the code"),
        ("code", "TEST-CODF", "That is not the code"),
        ("code", "ТEST-CODE", "That is not the code"),
        ("shop_name", " ", "What is the shop called?"),
        ("name", "", "What is the owner&#39;s name?"),
        ("pin", "12", "must have 4 to 12 digits"),
        ("pin_again", "", "The two PINs differ"),
        ("unit", "ft", "is not one of the choices"),
        ("zone", "Mars/Base", "That time zone is not known"),
        ("zone", "../../etc/passwd", "That time zone is not known"),
        ("currency", "far too long", "is longer than 8 characters"),
        ("base_address", "shop-pc", "Write it as http://name:8137"),
        ("base_address", "http://shop-pc:99999999", "Write it as http://name:8137"),
        ("base_address", "javascript:alert(1)", "Write it as http://name:8137"),
    ],
)
def test_what_cannot_be_is_refused_and_the_rest_is_kept(
    empty: TestClient, field: str, value: str, said: str
) -> None:
    answer = empty.post("/first-owner", data=FIRST | {field: value})
    assert answer.status_code == 422
    assert said in answer.text
    assert "4711" not in answer.text
    kept = "Odile" if field == "shop_name" else "Lindenau Heads"
    assert f'value="{kept}"' in answer.text
    assert empty.get("/sign-in").headers["location"] == "/first-owner"


def test_without_a_code_nobody_comes_in(
    make_settings: Callable[..., Settings], sqlite_database: Database
) -> None:
    app = create_app(make_settings(owner_code=""), sqlite_database)
    browser = TestClient(app, base_url=HERE, headers={"Origin": HERE})
    assert browser.post("/first-owner", data=FIRST | {"code": ""}).status_code == 422
