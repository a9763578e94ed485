"""The job page's one next button, from proved bores to signing."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.ring import RingSet
from tests.web.bench import Bench
from tests.web.pages import Walk


@pytest.fixture
def marek(bench: Bench, signed_in_as: Callable[[str], TestClient]) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek")


def next_of(marek: Walk, bench: Bench) -> tuple[str, str]:
    marek.get(f"/jobs/{bench.job.number}")
    found = re.search(r'id="next" href="([^"]*)">(.*?)</a>', marek.text)
    assert found is not None
    return unescape(found[2]), found[1]


def test_rings_that_are_due_together_are_pressed_on_one_page_and_the_last_on_its_own(
    bench: Bench, marek: Walk, database: Database
) -> None:
    bench.bored()
    rings_in = f"/heads/{bench.head.id}/rings-in"
    assert next_of(marek, bench) == ("2E: press the ring (and 1 more)", rings_in)
    with database.read() as session:
        first = bench.hands.rings_of(session.exec(select(RingSet)).one())[0]
    bench.hands.press(bench.ports["2E"], first)
    assert next_of(marek, bench) == ("3E: press the ring", bench.at("3E", "ring-in"))


def test_after_reasons_and_the_pressure_test_it_leads_on_to_signing(
    bench: Bench, marek: Walk
) -> None:
    bench.ringed()
    for key in ("seat_width", "seat_run_out", "stem_after"):
        labels = [label for label in bench.ports if label != "4E"]
        bench.hands.not_done(bench.head, key, labels, "no gauge for it here")
    for key in ("wall", "web"):
        bench.hands.not_done(bench.head, key, ("2E", "3E"), "still not known")
    marek.get(f"/heads/{bench.head.id}/inspections")
    marek.send(
        outcome_pressure_after="ok", method_pressure_after="air under warm water", press="Next: "
    )
    assert marek.url == f"/jobs/{bench.job.number}"
    words, href = next_of(marek, bench)
    assert href == f"/jobs/{bench.job.number}/sign"
    assert words == "1E: sign (and 6 more)"
