"""The possible error on the cut page: shown with the verdict, its parts one touch away."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.calc.units import Length
from app.models.crib import Instrument
from app.models.port_pass import Verification
from app.workflow.kinds import InstrumentKind, Unit
from tests.web.bench import Bench, cells, hidden, send, words

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def stage() -> str:
    """How far the bench is; a test that starts elsewhere says so."""
    return "corrected"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("Marek")


def bore_gauge(bench: Bench, error: str = ".0002") -> Instrument:
    with bench.database.write() as session:
        made = Instrument(
            name="Bore gauge",
            kind=InstrumentKind.BORE,
            unit=Unit.INCH,
            division=Length.of(".0001"),
            greatest_error=Length.of(error),
        )
        session.add(made)
    return made


def gauged(bench: Bench, marek: TestClient, to: str = "readings", **with_what: str) -> str:
    """2E opened, cut to size and gauged; the page afterwards."""
    send(
        marek,
        bench.at("2E", "cut"),
        setting=str(bench.setting.id),
        touched_port=str(bench.ports["2E"].id),
    )
    page = marek.get(bench.at("2E", "cut"))
    names = cells(page, "across", "along", "depth")
    fields = dict(zip(names, ["1.6222", "1.6222", ".2501"], strict=True))
    send(marek, bench.at("2E", f"cut/{to}"), **hidden(page), **fields, **with_what)
    return words(marek.get(bench.at("2E", "cut")))


def test_without_a_named_gauge_the_page_says_which_figure_stands_in(
    bench: Bench, marek: TestClient
) -> None:
    page = gauged(bench, marek)
    assert "±" in page
    assert "most of it is the shop's figure for a bore" in page
    assert "Bore: the bore gauge is not named, so the shop's figure stands in." in page


def test_the_largest_part_of_a_named_gauge_comes_first(bench: Bench, marek: TestClient) -> None:
    gauge = bore_gauge(bench)
    page = gauged(bench, marek, instrument=str(gauge.id))
    assert "the bore gauge's greatest error" in page
    assert page.index("The bore gauge's greatest error") < page.index(
        "One division of the bore gauge"
    )
    assert "the bore gauge is not named" not in page


def test_a_proved_bore_keeps_the_error_that_it_was_proved_with(
    bench: Bench, marek: TestClient
) -> None:
    gauge = bore_gauge(bench)
    gauged(bench, marek, "bored", instrument=str(gauge.id))
    with bench.database.read() as session:
        kept = session.exec(select(Verification)).one().uncertainty
    with bench.database.write() as session:
        session.get_one(Instrument, gauge.id).greatest_error = Length.of(".0012")
    page = words(marek.get(bench.at("2E", "cut")))
    assert f"± {kept.shown('in', 5)}" in page.replace("\xa0", " ")
    assert "Clear of both limits by these readings." in page


def test_the_check_of_a_gauge_that_failed_leads_to_what_no_longer_stands(
    bench: Bench, marek: TestClient
) -> None:
    gauge = bore_gauge(bench)
    gauged(bench, marek, "bored", instrument=str(gauge.id))
    address = f"/crib/instruments/{gauge.id}"
    send(marek, f"{address}/checks", master="1.6000", read="1.6004", master_name="ring A")
    page = words(marek.get(address))
    assert "No longer stands because of it: 2E of" in page
    told = words(marek.get(bench.at("2E", "cut")))
    assert "Bore gauge was found .0004 in off at its check" in told


def test_the_head_record_prints_the_parts_in_one_paragraph(bench: Bench, marek: TestClient) -> None:
    gauge = bore_gauge(bench)
    gauged(bench, marek, "bored", instrument=str(gauge.id))
    page = words(marek.get(f"/heads/{bench.head.id}/record"))
    assert "Parts of the possible error, standard: bore: instrument, within ±" in page
    assert "root of the sum of squares .000127" in page
    assert "read 0 K off" not in page
