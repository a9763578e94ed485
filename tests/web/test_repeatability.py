"""How well an instrument repeats: worked out and shown before it is kept, with scripts off."""

from __future__ import annotations

from collections.abc import Callable

from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.crib import Instrument
from tests.web.bench import words

SignedInAs = Callable[[str], TestClient]

GAUGE = {"name": "Bore gauge", "kind": "bore", "unit": "in", "division": ".0001"}
READ = {
    f"read_{nth}": text
    for nth, text in enumerate(("1.6220", "1.6221", "1.6222", "1.6221", "1.6221"), start=1)
}


def test_the_figure_is_shown_first_and_kept_when_asked(
    signed_in_as: SignedInAs, database: Database
) -> None:
    marek = signed_in_as("machinist")
    marek.post("/crib/instruments", data=GAUGE)
    assert "Work out how well it repeats" in marek.get("/crib/instruments/1").text
    shown = marek.get("/crib/instruments/1/repeatability", params=READ)
    assert shown.status_code == 200
    assert "Keep .000141 in" in words(shown)
    with database.read() as session:
        assert session.exec(select(Instrument)).one().repeatability is None
    kept = marek.post("/crib/instruments/1/repeatability", data={**READ, "row_version": "1"})
    assert kept.status_code == 303
    with database.read() as session:
        found = session.exec(select(Instrument)).one().repeatability
    assert found is not None
    assert found.inches(6) == ".000141"


def test_what_cannot_be_is_named_at_its_field_and_stays(signed_in_as: SignedInAs) -> None:
    marek = signed_in_as("machinist")
    marek.post("/crib/instruments", data=GAUGE)
    few = marek.get("/crib/instruments/1/repeatability", params={"read_1": "1.6220"})
    assert few.status_code == 422
    assert "at least 5 times" in words(few)
    slip = marek.get("/crib/instruments/1/repeatability", params={**READ, "read_3": "1.6x"})
    assert slip.status_code == 422
    assert 'value="1.6x"' in slip.text


def test_the_counter_does_not_work_on_gauges(signed_in_as: SignedInAs) -> None:
    signed_in_as("machinist").post("/crib/instruments", data=GAUGE)
    assert signed_in_as("Wilma").get("/crib/instruments/1/repeatability").status_code == 403


def test_a_check_keeps_its_master_with_what_that_may_be_off_by(signed_in_as: SignedInAs) -> None:
    marek = signed_in_as("machinist")
    marek.post("/crib/instruments", data={**GAUGE, "repeatability": ".00012"})
    check = {"master": "1.6000", "read": "1.6000", "master_name": "ring A"}
    marek.post("/crib/instruments/1/checks", data={**check, "master_uncertainty": ".00004"})
    page = marek.get("/crib/instruments/1")
    assert "ring A ± .00004" in words(page)
    assert 'value=".00012"' in page.text
    assert 'value=".00004"' in page.text  # the master of last time is proposed
