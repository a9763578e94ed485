"""Not done, because …: said on the page of the point, taken back there; scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.head import NotDone
from tests.web.measuring import FreshHead
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]
SAY = "Record the reason"


@pytest.fixture
def marek(head: FreshHead, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek").get(head.at("pockets"))


def ids(head: FreshHead, *labels: str) -> list[str]:
    return [str(head.ports[label].id) for label in labels]


def test_a_reason_closes_the_points_and_stands_there_as_large_as_a_result(
    head: FreshHead, marek: Walk
) -> None:
    marek.says("Still open: 2E and 3E: wall behind the counterbore")
    marek.send(key=["wall", "web"], because="no gauge for it here", press=SAY)
    assert marek.url == head.at("pockets")
    marek.says(
        "2E, 3E: wall behind the counterbore not done , because no gauge for it here",
        "Nothing is open here",
    )


def test_a_reason_for_one_position_leaves_the_other_open(head: FreshHead, marek: Walk) -> None:
    marek.send(key=["wall"], port=ids(head, "2E"), because="not known", press=SAY)
    marek.says("2E: wall behind the counterbore not done", "Still open: 3E: wall behind")


def test_a_value_read_later_wins_over_the_reason(head: FreshHead, marek: Walk) -> None:
    marek.send(key=["wall", "web"], because="not known", press=SAY)
    name = head.names(marek, "wall", "2E")[0]
    marek.send({name: ".140"}, press="Keep the readings")
    marek.says("3E: wall behind the counterbore not done")
    assert "2E, 3E: wall" not in marek.words


def test_taken_back_it_is_open_again(head: FreshHead, marek: Walk) -> None:
    marek.send(key=["wall"], because="not known", press=SAY)
    marek.send(press="take it back").says("Still open: 2E and 3E: wall behind the counterbore")


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"key": ["wall"], "because": ""}, "Say why"),
        ({"because": "not known"}, "Say what was not done."),
        ({"key": ["wall"], "because": "x" * 401}, "is longer than 400"),
        ({"key": ["wall"], "port": None, "because": "not known"}, "Tick the positions"),
    ],
)
def test_half_a_reason_comes_back_with_what_was_said(
    head: FreshHead,
    marek: Walk,
    database: Database,
    said: dict[str, str | list[str] | None],
    told: str,
) -> None:
    marek.send(said, press=SAY, status=422).says(told)
    with database.read() as session:
        mine = select(NotDone).where(NotDone.head_id == head.head.id)
        assert session.exec(mine).all() == []
    marek.send(key=["wall"], port=ids(head, "2E"), because="not known", press=SAY)
    assert marek.url == head.at("pockets")


@pytest.mark.parametrize("key", ["consent", "material", "verdict", "nonsense"])
def test_what_takes_no_reason_takes_none_from_anyone(
    head: FreshHead, marek: Walk, key: str
) -> None:
    data = {"client_key": "k", "key": key, "because": "not known"}
    answer = marek.browser.post(head.at("not-done"), data=data)
    assert answer.status_code == 422
    assert "a reason does not close this" in answer.text


def test_the_counter_says_that_parts_were_not_counted_but_not_that_a_wall_was_not_read(
    head: FreshHead, signed_in_as: SignedInAs
) -> None:
    wilma = Walk(signed_in_as("Wilma")).get(head.at("not-done?key=parts_counted"))
    wilma.send(because="the customer took them along", press=SAY)
    wilma.get(head.at("not-done?key=wall"))
    wilma.send(port=ids(head, "2E"), because="not known", press=SAY, status=409)
    wilma.says("Only a machinist or an owner may record readings")


def test_an_address_outside_the_shop_is_not_gone_back_to(head: FreshHead, marek: Walk) -> None:
    data = {"client_key": "k", "key": "wall", "port": ids(head, "2E"), "because": "not known"}
    answer = marek.browser.post(head.at("not-done"), data={**data, "back": "//elsewhere.test/"})
    assert answer.headers["location"] == f"/jobs/{head.job.number}"
