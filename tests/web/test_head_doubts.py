"""A reading far from the others of its kind along a head, with scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from app.db import Database
from app.workflow.shop_rules import ShopRules
from app.worksheets.facts import load_sheet
from app.worksheets.head_doubts import stem_doubts
from tests.web.measuring import FreshHead
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]
EXHAUSTS = ("1E", "2E", "3E", "4E")
KEEP = "Keep the readings"
DOUBT = "A slip, or is it so?"


@pytest.fixture
def marek(head: FreshHead, signed_in_as: SignedInAs) -> Walk:
    """Four exhausts were read, the third with two digits changed round."""
    walk = Walk(signed_in_as("Marek"))
    walk.get(head.at("stem-heights"))
    names = head.names(walk, "stem_height", *EXHAUSTS)
    return walk.send(dict(zip(names, ("1.850", "1.852", "1.580", "1.851"), strict=True)), KEEP)


def test_it_is_asked_about_beside_its_own_kind(marek: Walk) -> None:
    marek.says("3E reads 1.580", ".2710 from the other exhausts", DOUBT)


def test_nobody_goes_on_before_it_is_settled(marek: Walk) -> None:
    assert 'aria-disabled="true"' in marek.text
    marek.says("Open: 3E reads 1.580, apart from the others")


def test_going_on_with_a_fresh_slip_stays_on_the_page(head: FreshHead, marek: Walk) -> None:
    name = head.names(marek, "stem_height", "3E")[0]
    marek.send({name: "1.850"}, KEEP)
    assert DOUBT not in marek.text
    marek.send({name: "1.580"}, "Next: guides")
    assert marek.url == head.at("stem-heights")
    marek.says(DOUBT)


def test_typed_again_it_is_settled(head: FreshHead, marek: Walk) -> None:
    marek.send({head.names(marek, "stem_height", "3E")[0]: "1.850"}, "Keep the readings")
    assert DOUBT not in marek.text
    marek.send({}, "Next: guides")
    assert marek.url == head.at("guides")


def test_struck_it_is_settled_and_its_field_is_empty(head: FreshHead, marek: Walk) -> None:
    marek.send({"reason": "digits changed round"}, "Strike")
    assert marek.url == head.at("stem-heights")
    assert DOUBT not in marek.text
    marek.says("struck: digits changed round")


def test_kept_with_a_reason_it_is_not_asked_about_again(head: FreshHead, marek: Walk) -> None:
    marek.send({"reason": "a shorter valve, seen"}, "Keep")
    assert DOUBT not in marek.text
    marek.says("kept: a shorter valve, seen")
    marek.send({}, "Next: guides")
    assert marek.url == head.at("guides")


def test_kept_without_a_reason_it_stays_in_doubt(head: FreshHead, marek: Walk) -> None:
    marek.send({"reason": " "}, "Keep", status=422)
    marek.says("Say why it is kept.")
    marek.get(head.at("stem-heights")).says(DOUBT)


def test_intakes_are_not_held_against_exhausts(head: FreshHead, marek: Walk) -> None:
    names = head.names(marek, "stem_height", "1I", "2I", "3I", "4I")
    marek.send(dict.fromkeys(names, "1.700"), KEEP)
    assert "reads 1.700" not in marek.text


def test_of_two_that_differ_neither_is_the_odd_one(database: Database, head: FreshHead) -> None:
    head.bench.hands.stem_heights(head.head, {"1E": "1.850", "2E": "1.580"})
    with database.read() as session:
        assert stem_doubts(load_sheet(session, head.head).rows.ports, ShopRules({})) == ()


def test_a_serviced_guide_is_not_held_against_those_that_were_left(
    head: FreshHead, signed_in_as: SignedInAs
) -> None:
    walk = Walk(signed_in_as("Marek")).get(head.at("guides"))
    names = head.names(walk, "guide_bore", "1E", "2E", "3E", place="top")
    bores = dict(zip(names, (".3436", ".3437", ".3640"), strict=True))
    walk.send(bores, KEEP).says("3E reads .3640", DOUBT)
    walk.send(
        {f"guide_{head.ports['3E'].id}": "reamed", "what": "one oversize stem"}, KEEP, status=422
    )
    walk.send({}, "They are of the guides as they are now")
    assert DOUBT not in walk.text
