"""Vacuum tests along a head; scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from app.services.shop_rules import set_rule
from tests.web.bench import Bench
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]
KEEP = "Keep the tests"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek").get(f"/heads/{bench.head.id}/vacuum")


def at(bench: Bench, label: str, **fields: str) -> dict[str, str]:
    return {f"{name}_{bench.ports[label].id}": text for name, text in fields.items()}


def test_one_method_and_figures_for_each_say_how_it_ended(bench: Bench, marek: Walk) -> None:
    marek.send(
        {"method": "pump at each port"}
        | at(bench, "3E", start="23", end="22.5")
        | at(bench, "3I", start="23", end="21"),
        press=KEEP,
    )
    marek.says(
        "By the shop's line, 20 inHg left and at most 1 inHg lost in 10 seconds.",
        "OK 23 to 22.5 inHg in 10 s: within it pump at each port",
        "not OK 23 to 21 inHg in 10 s",
        ": 2 inHg lost in 10 seconds",
    )


def test_a_metric_gauge_is_held_against_the_same_line(bench: Bench, marek: Walk) -> None:
    marek.send({"unit": "kPa"} | at(bench, "3E", start="80", end="66"), press=KEEP)
    marek.says("not OK 80 to 66 kPa in 10 s", "less than 20 inHg left")


def test_the_shops_own_line_decides(bench: Bench, marek: Walk) -> None:
    with bench.hands.by(bench.cast.owner).writing() as tx:
        set_rule(tx, "vacuum_lost", "3", "our own habit")
    marek.send(at(bench, "3E", start="23", end="21"), press=KEEP)
    marek.says("at most 3 inHg lost in 10 seconds", "OK 23 to 21 inHg in 10 s: within it")


def test_watched_too_short_is_asked_and_kept_when_a_person_says_how_it_ended(
    bench: Bench, marek: Walk
) -> None:
    short = at(bench, "3E", start="23", end="23", seconds="5")
    marek.send(short, press=KEEP, status=422)
    marek.says("3E was watched for 5 s, and the shop's line is over 10 seconds")
    marek.send(at(bench, "3E", outcome="ok"), press=KEEP)
    marek.says("OK 23 to 23 inHg in 5 s", "watched for less than 10 seconds")


def test_what_was_not_tested_says_why(bench: Bench, marek: Walk) -> None:
    marek.send(
        {"rest": "no vacuum pump here"} | at(bench, "3E", outcome="not_done", note="cracked"),
        press=KEEP,
    )
    marek.says("not done , because cracked", "not done , because no vacuum pump here")
    assert marek.words.count("because no vacuum pump here") == len(bench.ports) - 1


def test_solvent_has_an_outcome_without_figures(bench: Bench, marek: Walk) -> None:
    marek.send(
        {"method": "solvent"} | at(bench, "3E", outcome="not_ok", note="weeps at the top"),
        press=KEEP,
    )
    marek.says("not OK weeps at the top solvent")


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"start": "23"}, "3E: say what the gauge read at the end"),
        ({"start": "22", "end": "23"}, "3E: the vacuum cannot grow"),
        ({"start": "75", "end": "74"}, "must be from 0 to 30 inHg"),
        ({"start": "0", "end": "0"}, "no vacuum was pulled"),
        ({"outcome": "not_done"}, "3E was not tested, because …? Say why."),
        ({"note": "looked at"}, "say how the test of 3E ended"),
        ({}, "Nothing is said of any position yet"),
    ],
)
def test_half_a_test_comes_back_with_what_was_typed(
    bench: Bench, marek: Walk, fields: dict[str, str], says: str
) -> None:
    marek.send(at(bench, "3E", **fields), press=KEEP, status=422)
    marek.says(says)
    for name, text in at(bench, "3E", **fields).items():
        assert f'value="{text}"' in marek.text, name


def test_a_page_sent_as_it_stands_writes_nothing(bench: Bench, marek: Walk) -> None:
    marek.send(
        {"method": "pump"}
        | at(bench, "3E", start="23", end="22.5", note="slow")
        | at(bench, "3I", start="23", end="20", outcome="ok")
        | at(bench, "1E", outcome="not_done", note="cracked"),
        press=KEEP,
    )
    marek.send({}, press=KEEP, status=409)
    marek.says("This is what stands already; nothing was changed.")


def test_another_test_that_came_in_meanwhile_is_named(bench: Bench, marek: Walk) -> None:
    marek.send(at(bench, "3E", start="23", end="22.5"), press=KEEP)
    other = Walk(marek.browser).get(marek.url)
    other.send(at(bench, "3E", start="24", end="20"), press=KEEP)
    marek.send(at(bench, "3E", start="23", end="23"), press=KEEP, status=422)
    marek.says("Marek recorded “not OK” after this page was opened")
    marek.send({}, press=KEEP)
    marek.says("OK 23 to 23 inHg")


def test_the_counter_sees_it_and_does_not_test(bench: Bench, signed_in_as: SignedInAs) -> None:
    wilma = signed_in_as("Wilma")
    page = f"/heads/{bench.head.id}/vacuum"
    assert wilma.get(page).status_code == 200
    assert wilma.post(page, data={"client_key": "k"}).status_code == 403
