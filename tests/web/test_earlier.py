"""Readings from paper, typed in through the pages they belong to; scripts off."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlmodel import col, select
from starlette.testclient import TestClient

from app.db import Database, now
from app.models.reading import Reading
from app.models.ring import RingSet
from app.models.setting import Setting
from app.services.cuts import open_cut
from tests.midday import MIDDAY
from tests.web.bench import Bench
from tests.web.measuring import FreshHead
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]
LIVE = {"HX-Request-Type": "partial"}


@pytest.fixture
def marek(head: FreshHead, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek")


def on_paper(head: FreshHead, minutes_ago: float = 10) -> dict[str, str]:
    """The three fields for a reading of Odile's, by the shop's clock."""
    at = (now() - timedelta(minutes=minutes_ago)).astimezone(ZoneInfo(MIDDAY))
    return {
        "earlier_on": at.date().isoformat(),
        "earlier_at": f"{at:%H:%M}",
        "earlier_by": str(head.bench.cast.owner.id),
    }


def opened(bench: Bench, setting: Setting) -> None:
    """3E is under the cutter."""
    with bench.hands.writing() as tx:
        open_cut(tx, bench.ports["3E"], setting.id, was_touched=True)


def newest(database: Database) -> Reading:
    with database.read() as session:
        found = session.exec(select(Reading).order_by(col(Reading.id).desc())).first()
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("page", "quantity", "typed"),
    [
        ("stem-heights", "stem_height", "1.850"),
        ("guides", "guide_bore", ".3436"),
        ("valves", "valve_margin", ".040"),
        ("flatness", "flatness", ".002"),
    ],
)
def test_a_grid_keeps_who_read_it_and_when(
    head: FreshHead, marek: Walk, database: Database, page: str, quantity: str, typed: str
) -> None:
    marek.get(head.at(page))
    field = marek.names(quantity)[0]
    press = "Keep" if page == "flatness" else "Keep the readings"
    marek.send({field: typed} | on_paper(head), press=press)
    if page != "flatness":
        marek.says("read by Odile", "typed by Marek")
    row = newest(database)
    assert now() - timedelta(minutes=12) < row.taken_at < now() - timedelta(minutes=9)
    assert row.typed_by_id == head.bench.cast.owner.id
    assert row.sent_by_id == head.bench.cast.machinist.id


def test_the_fold_is_on_every_page_of_readings(
    bench: Bench, database: Database, signed_in_as: SignedInAs
) -> None:
    setting = bench.corrected()
    opened(bench, setting)
    marek = Walk(signed_in_as("Marek"), "Marek")
    with database.read() as session:
        ring_set = session.exec(select(RingSet)).one().id
    for address in (
        f"/heads/{bench.head.id}/stem-heights",
        f"/heads/{bench.head.id}/guides",
        f"/heads/{bench.head.id}/pockets",
        f"/heads/{bench.head.id}/inspections",
        f"/heads/{bench.head.id}/flatness",
        f"/heads/{bench.head.id}/valves",
        f"/heads/{bench.head.id}/finish",
        f"/heads/{bench.head.id}/vacuum",
        f"/heads/{bench.head.id}/chambers",
        f"/ring-sets/{ring_set}",
        f"/positions/{bench.ports['3E'].id}/cut",
    ):
        marek.get(address).says("ead earlier", "Read by")


def test_a_figure_before_the_tag_is_refused_and_kept_in_its_field(
    head: FreshHead, marek: Walk, database: Database
) -> None:
    marek.get(head.at("stem-heights"))
    [field] = head.names(marek, "stem_height", "1E")
    before = newest(database).id
    marek.send({field: "1.850"} | on_paper(head, 60 * 24), press="Keep the readings", status=422)
    marek.says("was taken in on", "Nothing was stored yet")
    assert 'value="1.850"' in marek.text
    assert newest(database).id == before


def test_a_time_without_a_day_is_asked_for_only_with_a_reading(
    head: FreshHead, marek: Walk
) -> None:
    marek.get(head.at("stem-heights"))
    [field] = head.names(marek, "stem_height", "1E")
    half = {"earlier_at": "07:15"}
    answer = marek.browser.post(head.at("stem-heights"), data=half, headers=LIVE)
    assert answer.status_code == 200
    answer = marek.browser.post(head.at("stem-heights"), data=half | {field: "1.85"}, headers=LIVE)
    assert answer.status_code == 422
    assert "Read on: Say on which day it was read" in answer.text


def test_a_bore_gauged_from_paper_counts_for_the_cut_it_was_typed_at(
    bench: Bench, signed_in_as: SignedInAs
) -> None:
    setting = bench.corrected()
    opened(bench, setting)
    marek = Walk(signed_in_as("Marek"), "Marek").get(f"/positions/{bench.ports['3E'].id}/cut")
    at = datetime.now(ZoneInfo(MIDDAY)) - timedelta(minutes=1)
    fields = dict(zip(marek.names("bore"), ["1.6222"] * 4, strict=False))
    fields |= dict(zip(marek.names("depth"), [".2500"], strict=False))
    said = {
        "earlier_on": at.date().isoformat(),
        "earlier_at": f"{at:%H:%M}",
        "earlier_by": str(bench.cast.owner.id),
    }
    marek.send(fields | said, press="Keep")
    marek.says("Interference")


def test_a_ring_that_went_in_before_it_was_typed_keeps_its_time_and_person(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    bench.bored()
    with database.read() as session:
        ring = bench.hands.rings_of(session.exec(select(RingSet)).one())[0]
    port = bench.ports["3E"]
    at = datetime.now(ZoneInfo(MIDDAY)) - timedelta(minutes=10)
    fields = {
        f"ring.{port.id}": str(ring.id),
        "way": "press",
        "feeler": "does not enter",
        "earlier_on": at.date().isoformat(),
        "earlier_at": f"{at:%H:%M}",
        "earlier_by": str(bench.cast.owner.id),
    }
    marek = Walk(signed_in_as("Marek"), "Marek").get(f"/positions/{port.id}/ring-in")
    marek.send(fields | {"earlier_by": ""}, press="The ring is in", status=422)
    marek.says("Say who read it")
    marek.send(fields, press="The ring is in")
    marek.get(f"/positions/{port.id}/ring-in").says(f"Odile, {at:%H:%M}, typed by Marek")
    marek.get(f"/heads/{bench.head.id}/record").says("Odile typed by Marek")
