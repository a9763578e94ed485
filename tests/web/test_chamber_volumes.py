"""Chamber volumes of a head; scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from app.services.shop_rules import set_rule
from app.workflow.grids import SEATS_IN_CASTING, VALVES
from app.workflow.kinds import ReadingKind
from tests.web.bench import Bench
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]
KEEP = "Keep the volumes"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek").get(f"/heads/{bench.head.id}/chambers")


def volumes(*typed: str) -> dict[str, str]:
    return {f"volume_{nth}": text for nth, text in enumerate(typed)}


def test_which_cylinder_is_out_is_said(marek: Walk) -> None:
    marek.send(volumes("43.2", "43,4", "44.6", "43.1"), press=KEEP)
    marek.says("1.5 cm³ apart, the shop's figure 1 cm³: cylinder 3 holds 1.2 cm³ more")
    marek.says("over the others")


def test_chambers_that_match_say_so(marek: Walk) -> None:
    marek.send(volumes("43.2", "43.4", "43.6", "43.1"), press=KEEP)
    marek.says("0.5 cm³ apart, the shop's figure 1 cm³: they match")


def test_the_shops_own_figure_decides(bench: Bench, marek: Walk) -> None:
    with bench.hands.by(bench.cast.owner).writing() as tx:
        set_rule(tx, "chambers_apart", "0.3", "our own habit")
    marek.send(volumes("43.2", "43.4", "43.7", "43.1"), press=KEEP)
    marek.says("the shop's figure 0.3 cm³: cylinder 3 holds 0.3 cm³ more")


def test_not_done_says_why(marek: Walk) -> None:
    marek.send({"because": "no burette here"}, press=KEEP)
    marek.says("Not done, because no burette here.")


def test_what_a_sunk_valve_adds_stands_under_its_cylinder(bench: Bench, marek: Walk) -> None:
    bench.hands.read_along(bench.head, ReadingKind.POCKETS, SEATS_IN_CASTING[1:], {"1E": ["1.600"]})
    bench.hands.finish(bench.head, {"1E": [".062", ".0010", "1.870"]})
    marek.get(marek.url).says("1E lies deeper: 0.66 cm³ more", "1E, since it came in")


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        (volumes("43.2"), "One chamber has nothing to be held against"),
        (volumes("43.2", "0"), "must be above 0"),
        (volumes("43.2", "much"), "must be a number"),
        (volumes("43.2", "43.3") | {"because": "late"}, "Either volumes, or why there are none."),
        ({}, "nothing was stored"),
    ],
)
def test_what_cannot_be_compared_comes_back(marek: Walk, fields: dict[str, str], says: str) -> None:
    marek.send(fields, press=KEEP, status=422)
    marek.says(says)
    assert all(f'value="{text}"' in marek.text for text in fields.values())


def test_volumes_sent_as_they_stand_write_nothing(marek: Walk) -> None:
    marek.send(volumes("43.2", "43.4"), press=KEEP)
    marek.send({}, press=KEEP, status=409)
    marek.says("This is what stands already")


def test_volumes_that_came_in_meanwhile_are_named(marek: Walk) -> None:
    marek.send(volumes("43.2", "43.4"), press=KEEP)
    other = Walk(marek.browser).get(marek.url)
    other.send(volumes("43.2", "43.9"), press=KEEP)
    marek.send(volumes("43.3", "43.4"), press=KEEP, status=422)
    marek.says("Marek recorded chamber volumes after this page was opened")
    marek.send({}, press=KEEP)
    marek.says("0.1 cm³ apart")


def test_the_counter_sees_it_and_does_not_measure(bench: Bench, signed_in_as: SignedInAs) -> None:
    wilma = signed_in_as("Wilma")
    page = f"/heads/{bench.head.id}/chambers"
    assert wilma.get(page).status_code == 200
    assert wilma.post(page, data={"client_key": "k"}).status_code == 403


def test_a_slipped_point_is_asked_about_once_and_may_be_so(marek: Walk) -> None:
    typed = volumes("43.2", "4.34", "43.6", "43.1")
    marek.send(typed, press=KEEP, status=422)
    marek.says("Cylinder 3 holds 43.6 cm³ and cylinder 2 4.34 cm³", "Is it so?")
    marek.send({"confirm_odd": "yes"}, press=KEEP)
    marek.says("cylinder 2 holds")


def test_grinding_a_tip_hides_none_of_what_a_sunk_valve_adds(bench: Bench, marek: Walk) -> None:
    bench.hands.read_along(bench.head, ReadingKind.POCKETS, SEATS_IN_CASTING[1:], {"1E": ["1.600"]})
    tip = {"1E": ["", "", "", ".005"]}
    bench.hands.read_along(bench.head, ReadingKind.VALVES, VALVES, tip)
    bench.hands.finish(bench.head, {"1E": [".062", ".0010", "1.865"]})
    marek.get(marek.url).says("1E lies deeper: 0.66 cm³ more")
