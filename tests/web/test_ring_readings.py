"""A ring set's fields: kept one by one, on two tablets, with the gauge that was named."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import col, select
from starlette.testclient import TestClient

from app.calc.units import Length
from app.db import Database
from app.models.crib import Instrument
from app.models.job import Job
from app.models.reading import Reading
from app.models.ring import RingSet
from app.workflow.kinds import InstrumentKind, Quantity, Unit
from app.workflow.words import Ended
from tests.web.bench import Bench, hidden, readings
from tests.web.pages import Walk

KEEP = "Keep the readings"
LIVE = {"HX-Request-Type": "partial"}


@pytest.fixture
def marek(signed_in_as: Callable[[str], TestClient], bench: Bench) -> Walk:
    walk = Walk(signed_in_as("Marek"), "Marek")
    return walk.get(f"/jobs/{bench.job.number}/ring-sets/new").send(count="2", label_od="1.625")


@pytest.fixture
def odile(signed_in_as: Callable[[str], TestClient], marek: Walk) -> Walk:
    return Walk(signed_in_as("Odile"), "Odile").get(marek.url)


def values(database: Database, quantity: Quantity) -> list[str]:
    with database.read() as session:
        found = session.exec(
            select(Reading).where(Reading.quantity == quantity).order_by(col(Reading.id))
        )
        return [each.value.inches(4) for each in found]


def test_each_reading_is_kept_as_it_is_typed_and_only_what_is_beside_it_comes_back(
    marek: Walk, database: Database
) -> None:
    first, second = marek.names("ring_od")[:2]
    data = {"client_key": "k1", first: "1.6262", second: ""}
    answer = marek.browser.post(f"{marek.url}/readings", data=data, headers=LIVE)
    assert answer.status_code == 200
    assert 'class="read' not in answer.text
    assert "1 reading kept" in answer.text
    assert list(hidden(answer)) == [f"had.{first}"]
    data = {"client_key": "k2", **hidden(answer), first: "1.6262", second: "1.6281"}
    doubtful = marek.browser.post(f"{marek.url}/readings", data=data, headers=LIVE)
    assert f'data-odd="r-{second.replace(".", "-").replace("_", "-")}' in doubtful.text
    assert values(database, Quantity.RING_OD) == ["1.6262", "1.6281"]


def test_a_wrong_figure_in_a_live_sending_is_named_and_does_not_hold_up_the_others(
    marek: Walk, database: Database
) -> None:
    first, second = marek.names("ring_od")[:2]
    data = {"client_key": "k1", first: "1.6262", second: "lots"}
    answer = marek.browser.post(f"{marek.url}/readings", data=data, headers=LIVE)
    assert answer.status_code == 422
    assert "ring 1, outside diameter, place 2: &#39;lots&#39;" in answer.text
    assert values(database, Quantity.RING_OD) == ["1.6262"]


def test_a_live_page_does_not_take_out_what_another_tablet_just_kept(
    marek: Walk, odile: Walk, database: Database
) -> None:
    first, second = marek.names("ring_od")[:2]
    odile.send({second: "1.6261"}, press=KEEP)
    data = {"client_key": "k1", first: "1.6262", second: ""}
    answer = marek.browser.post(f"{marek.url}/readings", data=data, headers=LIVE)
    assert f"had.{second}" in hidden(answer)
    data = {"client_key": "k2", **hidden(answer), first: "1.6263"}
    marek.browser.post(f"{marek.url}/readings", data=data, headers=LIVE)
    odile.get(marek.url)
    kept = dict.fromkeys((first, second), "")
    for control in odile.form(f"{marek.url}/readings").controls:
        if control.name in kept:
            kept[control.name] = control.value
    assert kept == {first: "1.6263", second: "1.6261"}


def test_an_error_elsewhere_does_not_let_a_page_write_over_what_it_never_showed(
    marek: Walk, odile: Walk
) -> None:
    first, second = marek.names("ring_od")[:2]
    odile.send({first: "1.6262"}, press=KEEP)
    marek.get(marek.url)
    odile.send({first: "1.6265"}, press=KEEP)
    marek.send({first: "1.6263", second: "nothing"}, press=KEEP, status=422)
    marek.send({second: "1.6262"}, press=KEEP, status=422)
    marek.says("Odile read 1.6265 here after this page was opened, and 1.6263 was typed now")


def test_more_places_are_asked_without_losing_what_was_typed(
    marek: Walk, database: Database
) -> None:
    other = marek.names("ring_od")[4:]
    assert len(other) == 2
    marek.send({other[0]: "1.6262"}, press="more places of ring 2")
    assert len(marek.names("ring_od")) == 8
    assert values(database, Quantity.RING_OD) == ["1.6262"]
    place_4 = marek.names("ring_od")[7]
    marek.send({place_4: "lots"}, press=KEEP, status=422)
    assert place_4 in marek.names("ring_od")


def test_a_comparator_reads_outside_diameters_and_leaves_heights_alone(
    marek: Walk, database: Database
) -> None:
    with database.write() as session:
        gauge = Instrument(
            name="Comparator stand",
            kind=InstrumentKind.OD,
            unit=Unit.INCH,
            division=Length.of(".0001"),
            is_comparator=True,
        )
        session.add(gauge)
        session.flush()
        gauge_id = str(gauge.id)
    marek.get(marek.url)
    first, height = marek.names("ring_od")[0], marek.names("ring_height")[0]
    named = {"instrument": gauge_id, "zeroed_on": "1.6260"}
    marek.send({**named, first: "+2", height: ".2500"}, press=KEEP)
    assert values(database, Quantity.RING_OD) == ["1.6262"]
    assert values(database, Quantity.RING_HEIGHT) == [".2500"]
    # The heights have no master: a division there is no size.
    marek.send({height: "+2"}, press=KEEP, status=422).says("counts divisions; say which gauge")


def test_a_millimetre_instrument_takes_plain_millimetres_for_what_it_reads(
    marek: Walk, database: Database
) -> None:
    with database.write() as session:
        gauge = Instrument(
            name="Metric micrometer",
            kind=InstrumentKind.OD,
            unit=Unit.MM,
            division=Length.of("0.001", "mm"),
        )
        session.add(gauge)
        session.flush()
        gauge_id = str(gauge.id)
    marek.get(marek.url)
    first, height = marek.names("ring_od")[0], marek.names("ring_height")[0]
    marek.send({"instrument": gauge_id, first: "41.305", height: ".2500"}, press=KEEP)
    assert values(database, Quantity.RING_OD) == ["1.6262"]
    marek.send({"instrument": ""}, press=KEEP)
    assert values(database, Quantity.RING_OD) == ["1.6262"]


def test_while_a_ring_is_open_the_others_are_worked_and_named(marek: Walk) -> None:
    first = ("1.6262", "1.6260", "1.6261", "1.6263", ".2500", ".2502", ".2501")
    names = [name for name in marek.names(".ring-") if ".ring-1." in name][:7]
    marek.send(dict(zip(names, first, strict=True)), press=KEEP)
    marek.says("Working, ring 1", "1.62215", "Open: ring 2: outside diameter to read")


@pytest.mark.parametrize("answer", ["ring_od", "unrelated", "counterbore"])
def test_the_box_is_asked_about_once_whatever_is_answered(marek: Walk, answer: str) -> None:
    sizes = ["1.6291"] * 4 + [".2500"] * 3 + ["1.376"] + ["1.6291"] * 2 + [".2500"]
    marek.send(dict(zip(marek.names(".ring-"), sizes, strict=True)), press=KEEP)
    marek.says("What does the box say?").send(label_means=answer, press="Keep the answer")
    assert "What does the box say?" not in marek.words
    assert "Open:" not in marek.words


def test_a_ring_set_of_a_job_that_is_over_takes_no_more_readings(
    marek: Walk, bench: Bench, database: Database
) -> None:
    with database.write() as session:
        job = session.get_one(Job, bench.job.id)
        job.ended_as, job.ended_at = Ended.SCRAPPED, bench.hands.at
        session.add(job)
    with database.read() as session:
        before = readings(session)
        assert session.exec(select(RingSet)).one()
    marek.send({marek.names("ring_od")[0]: "1.6262"}, press=KEEP, status=409)
    marek.says("is over (scrapped); nothing more is changed on it")
    with database.read() as session:
        assert readings(session) == before


def test_a_material_brings_its_expansion_and_an_own_figure_wins(
    marek: Walk, database: Database
) -> None:
    def alpha() -> float | None:
        with database.read() as session:
            return session.exec(select(RingSet)).one().alpha_per_k

    marek.get(f"{marek.url}/edit").send(material="beryllium_copper", press="Keep it")
    assert alpha() == pytest.approx(16.7e-6)
    marek.get(f"{marek.url}/edit").send(alpha_ppm="17,2", press="Keep it")
    assert alpha() == pytest.approx(17.2e-6)
    marek.get(f"{marek.url}/edit").send(alpha_ppm="", material="cobalt", press="Keep it")
    assert alpha() is None
