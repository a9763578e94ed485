"""The shop's temperature of the day, and what a gauge should read by it."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.models.head import Head
from app.models.ring import RingSet
from app.models.shop import ShopRule
from app.workflow.words import Material
from tests.web.bench import Bench, cells, hidden, send, words

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def stage() -> str:
    """How far the bench is; a test that starts elsewhere says so."""
    return "corrected"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("Marek")


def pages(
    bench: Bench, marek: TestClient, material: Material = Material.ALUMINIUM
) -> dict[str, str]:
    """What the pages say of the bore of 2E, opened and not gauged yet.

    Iron grows as a gauge does; aluminium twice as much.
    """
    with bench.database.read() as session:
        ring_set = session.exec(select(RingSet)).one().id
    send(
        marek,
        bench.at("2E", "cut"),
        setting=str(bench.setting.id),
        touched_port=str(bench.ports["2E"].id),
    )
    with bench.database.write() as session:
        session.get_one(Head, bench.head.id).material = material
    addresses = {
        "ring set": f"/ring-sets/{ring_set}",
        "setting": f"/settings/{bench.setting.id}",
        "cut": bench.at("2E", "cut"),
    }
    return {name: words(marek.get(address)) for name, address in addresses.items()}


def test_the_temperature_of_the_day_is_one_field_on_the_bench(
    bench: Bench, marek: TestClient
) -> None:
    assert "not read yet: 20 °C is taken" in words(marek.get("/bench"))
    kept = send(marek, "/bench/temperature", temperature="26,5")
    assert (kept.status_code, kept.headers["location"]) == (303, "/bench")
    assert "26.5 °C , read" in words(marek.get("/bench"))
    send(marek, "/bench/temperature", temperature="26.5")
    with bench.database.read() as session:
        kept_each_time = session.exec(
            select(ShopRule.value).where(ShopRule.key == "temperature_c")
        ).all()
    assert list(kept_each_time) == ["26.5", "26.5"]


@pytest.mark.parametrize("typed", ["", "warm", "260"])
def test_what_no_thermometer_reads_is_refused_at_its_field(
    bench: Bench, marek: TestClient, typed: str
) -> None:
    refused = send(marek, "/bench/temperature", temperature=typed)
    assert refused.status_code == 422
    assert 'aria-invalid="true"' in refused.text
    with bench.database.read() as session:
        assert session.exec(select(ShopRule)).all() == []


def test_the_counter_sees_it_and_does_not_read_it(bench: Bench, signed_in_as: SignedInAs) -> None:
    wilma = signed_in_as("Wilma")
    page = wilma.get("/bench")
    assert "Shop's temperature" in words(page)
    assert 'name="temperature"' not in page.text
    assert send(wilma, "/bench/temperature", temperature="26").status_code == 403


def test_at_20_degrees_no_page_speaks_of_today(bench: Bench, marek: TestClient) -> None:
    for name, page in pages(bench, marek).items():
        assert "Today, at" not in page, name


def test_an_iron_head_as_warm_as_its_gauge_reads_as_at_20_degrees(
    bench: Bench, marek: TestClient
) -> None:
    send(marek, "/bench/temperature", temperature="27")
    for name, page in pages(bench, marek, Material.GREY_IRON).items():
        assert "Today, at" not in page, name


def test_a_warm_aluminium_head_is_told_on_each_page_that_speaks_of_its_bore(
    bench: Bench, marek: TestClient
) -> None:
    """D·(21.5 − 11.5)·1e-6·7 of 1.6221 in is .00011 in: by hand, to first order."""
    send(marek, "/bench/temperature", temperature="27")
    found = pages(bench, marek)
    assert "Today, at 27 °C, the gauge should read" in found["ring set"]
    assert "Today, at 27 °C, the gauge should read 1.6222 in a bore" in found["setting"]
    assert "Today, at 27 °C, the gauge should read 1.6222 as it is set" in found["cut"]
    assert "inside the window" in found["cut"]
    assert "Why not 1.6221" in found["cut"]


def test_rings_that_were_read_keep_the_temperature_of_their_hour(
    bench: Bench, marek: TestClient
) -> None:
    send(marek, "/bench/temperature", temperature="27")
    told = pages(bench, marek)["ring set"]
    assert "rings and gauge at 20 °C" in told.replace("\xa0", " ")


def test_temperatures_typed_with_the_gauge_win_over_the_shops(
    bench: Bench, marek: TestClient
) -> None:
    """1.6222·11.4e-6·25 = .00046 in, of an iron head that is warm from the washer."""
    send(
        marek,
        bench.at("2E", "cut"),
        setting=str(bench.setting.id),
        touched_port=str(bench.ports["2E"].id),
    )
    page = marek.get(bench.at("2E", "cut"))
    across = cells(page, "across")[0]
    warm = {"part_c": "45", "gauge_c": "20"}
    send(marek, bench.at("2E", "cut/readings"), **hidden(page), **{across: "1.6226"}, **warm)
    told = words(marek.get(bench.at("3E", "cut") + f"?setting={bench.setting.id}"))
    assert "Cannot be recorded" not in told
    send(marek, bench.at("3E", "cut"), setting=str(bench.setting.id))
    told = words(marek.get(bench.at("3E", "cut")))
    assert "Today, head at 45 °C, gauge at 20 °C, the gauge should read 1.6226" in told
