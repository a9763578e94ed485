"""Heat and cold of a head, with scripts off: what rings need, one heat, and cold again."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.heat import Heat
from app.models.port_pass import RingIn
from app.models.ring import Ring, RingSet
from tests.web.bench import Bench, send, words

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def stage() -> str:
    """How far the bench is."""
    return "bored"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("Marek")


@pytest.fixture
def rings(bench: Bench, database: Database) -> list[Ring]:
    with database.read() as session:
        return bench.hands.rings_of(session.exec(select(RingSet)).one())


@pytest.fixture
def url(bench: Bench) -> str:
    return f"/heads/{bench.head.id}/heat"


def heating(bench: Bench, *labels: str, **fields: str) -> dict[str, str]:
    named = {f"port.{bench.ports[label].id}": "yes" for label in labels or ("2E", "3E")}
    return named | {"heated_by": "oven", "wanted_c": "120"} | fields


def hot(bench: Bench, label: str, ring: Ring, **fields: str) -> dict[str, str]:
    port_id = bench.ports[label].id
    shared = {"way": "both", "chill": "dry_ice", "heated_by": "oven", "head_c": "118"}
    shared["feeler"] = "does not enter"
    return {f"in.{port_id}": "yes", f"ring.{port_id}": str(ring.id), **shared, **fields}


def cooled(**fields: str) -> dict[str, str]:
    how = {"head_c": "21", "minutes": "90", "how": "in still air", "feeler": "does not enter"}
    return how | fields


def made_of(database: Database, material: str) -> None:
    with database.write() as session:
        session.exec(select(RingSet)).one().material = material


def heats(database: Database) -> int:
    with database.read() as session:
        return len(session.exec(select(Heat)).all())


def in_one_heat(bench: Bench, marek: TestClient, rings: list[Ring], url: str) -> None:
    """Both rings in, the heat over."""
    assert send(marek, url, **heating(bench)).status_code == 303
    both = hot(bench, "2E", rings[0]) | hot(bench, "3E", rings[1])
    answer = send(marek, f"/heads/{bench.head.id}/rings-in", **both)
    assert answer.headers["location"] == url
    assert "The heat is over: let it cool" in words(marek.get(url))
    assert send(marek, f"{url}/over").status_code == 303


def test_the_page_works_out_every_chill_with_the_head_it_needs(
    marek: TestClient, url: str, database: Database
) -> None:
    made_of(database, "chromium_steel")
    page = words(marek.get(url))
    # Iron, interference .0040: cold alone leaves it to be driven, and heat within the cap helps.
    assert "worked for 2E" in page
    for chill in ("not chilled", "in a freezer −18 °C", "in dry ice −78.5 °C", "−196 °C"):
        assert chill in page
    assert "No head is named hotter than 150 °C" in page
    assert "light drive" in page


def test_rings_that_nobody_named_are_worked_without_cold(marek: TestClient, url: str) -> None:
    page = words(marek.get(url))
    assert "Say what the rings are made of" in page
    assert "not within 150 °C there: light drive" in page


def test_another_clearance_asks_for_a_hotter_head(
    marek: TestClient, url: str, database: Database
) -> None:
    made_of(database, "chromium_steel")

    def needed(page: str) -> int:
        return int(page.split("in liquid nitrogen −196 °C")[1].split("about ")[1].split(" ")[0])

    usual, none = needed(words(marek.get(url))), needed(words(marek.get(f"{url}?clearance=0")))
    assert none < usual
    wrong = marek.get(f"{url}?clearance=.5")
    assert 'value=".5"' in wrong.text
    assert "Was it typed in another unit?" in words(wrong)


def test_a_shop_that_goes_no_colder_is_not_told_of_colder(
    marek: TestClient, url: str, signed_in_as: SignedInAs, database: Database
) -> None:
    made_of(database, "chromium_steel")
    sent = {"value": "-80", "source": "the rings' maker"}
    assert signed_in_as("Odile").post("/shop-rules/ring_c_coldest", data=sent).status_code == 303
    assert "colder than -80 °C, the shop's limit" in words(marek.get(url))


def test_a_heat_is_begun_for_the_rings_that_were_chosen(
    bench: Bench, marek: TestClient, url: str, database: Database
) -> None:
    answer = send(marek, url, **heating(bench, "2E"))
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/heads/{bench.head.id}/rings-in"
    page = words(marek.get(url))
    assert "Heat 1: oven, to 120 °C" in page
    assert "2E to go in" in page
    assert "Heat 1 is running (oven, to 120 °C): still to go in 2E." in words(
        marek.get(f"/heads/{bench.head.id}/rings-in")
    )
    assert heats(database) == 1


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"heated_by": ""}, "Say what heats the head."),
        ({"wanted_c": ""}, "Say how hot the head is to be."),
        ({"wanted_c": "hot"}, "must be a number"),
        ({"wanted_c": "900"}, "must be from 20 to 300 °C"),
        ({"wanted_c": "180"}, "above the shop's cap of 150 °C"),
    ],
)
def test_a_heat_that_cannot_be_is_named_at_its_field(
    bench: Bench,
    marek: TestClient,
    url: str,
    database: Database,
    wrong: dict[str, str],
    told: str,
) -> None:
    answer = send(marek, url, **heating(bench, **wrong))
    assert answer.status_code == 422
    assert told in words(answer)
    assert heats(database) == 0
    # What was typed is still there.
    for name, value in (heating(bench) | wrong).items():
        if not name.startswith("port."):
            assert f'name="{name}" type="text" value="{value}"' in answer.text


def test_a_heat_of_no_ring_is_refused(marek: TestClient, url: str, database: Database) -> None:
    answer = send(marek, url, heated_by="oven", wanted_c="120")
    assert answer.status_code == 422
    assert "Choose whose rings go in in this heat." in words(answer)
    assert heats(database) == 0


def test_above_the_cap_goes_through_with_one_touch(
    bench: Bench, marek: TestClient, url: str, database: Database
) -> None:
    asked = send(marek, url, **heating(bench, wanted_c="180"))
    assert 'name="confirm_hot" value="yes"' in asked.text
    sent = send(marek, url, **heating(bench, wanted_c="180", confirm_hot="yes"))
    assert sent.status_code == 303
    assert heats(database) == 1


def test_a_head_goes_from_one_heat_through_its_cool_down_to_the_seats(
    bench: Bench, marek: TestClient, rings: list[Ring], url: str, database: Database
) -> None:
    in_one_heat(bench, marek, rings, url)
    assert "Not cold yet." in words(marek.get(f"/heads/{bench.head.id}/finish"))
    page = words(marek.get(url))
    assert "Cold again" in page
    assert "Nothing is measured or cut before the head is cold" in page
    height = next(
        each for each in marek.get(url).text.split('name="') if "down_height" in each.split('"')[0]
    ).split('"')[0]
    answer = send(marek, f"/heads/{bench.head.id}/cool-down", **cooled(), **{height: ".0010"})
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/heads/{bench.head.id}/finish"
    assert "Not cold yet." not in words(marek.get(f"/heads/{bench.head.id}/finish"))
    page = words(marek.get(bench.at("2E", "ring-in")))
    assert "heat 1; ring in dry ice; head: oven" in page
    assert "Cold since, stood 90 minutes, in still air; head at 21 °C." in page
    with database.read() as session:
        found = session.exec(select(RingIn)).all()
    assert len(found) == 4  # each as it went in, and once more cold
    assert {row.heat for row in found} == {1}


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"minutes": ""}, "Say how long it stood."),
        ({"minutes": "-3"}, "must be from 1 to"),
        ({"head_c": ""}, "Read the head's temperature."),
        ({"head_c": "45"}, "45 °C is not within 5 °C of the shop's 20 °C"),
        ({"how": ""}, "Say how it cooled."),
        ({"feeler": ""}, "Say what the feeler found"),
        ({"feeler": "could not reach"}, "Say why it could not be reached."),
        ({"feeler": "enters"}, "the ring is not down"),
    ],
)
def test_a_cool_down_that_says_too_little_is_kept_as_typed(
    bench: Bench,
    marek: TestClient,
    rings: list[Ring],
    url: str,
    wrong: dict[str, str],
    told: str,
) -> None:
    in_one_heat(bench, marek, rings, url)
    answer = send(marek, f"/heads/{bench.head.id}/cool-down", **cooled(**wrong))
    assert answer.status_code == 422
    assert told in words(answer)
    if wrong.get("how") is None:
        assert 'value="in still air"' in answer.text


def test_a_ring_left_out_of_its_heat_wants_a_reason(
    bench: Bench, marek: TestClient, rings: list[Ring], url: str
) -> None:
    send(marek, url, **heating(bench))
    send(marek, bench.at("2E", "ring-in"), **hot(bench, "2E", rings[0]))
    answer = send(marek, f"{url}/over")
    assert answer.status_code == 422
    assert "3E: no ring went in in this heat." in words(answer)
    assert send(marek, f"{url}/over", left_out="ring chipped").status_code == 303
    assert "Without 3E, because ring chipped." in words(marek.get(url))


def test_another_heat_is_asked_about_on_the_page_of_the_ring_too(
    bench: Bench, marek: TestClient, rings: list[Ring], url: str, database: Database
) -> None:
    send(marek, bench.at("2E", "ring-in"), **hot(bench, "2E", rings[0]))
    send(marek, f"{url}/over")
    sent = hot(bench, "3E", rings[1])
    answer = send(marek, bench.at("3E", "ring-in"), **sent)
    assert answer.status_code == 422
    assert "2E: ring in already, and heat would loosen it." in words(answer)
    assert 'name="confirm_other_heat" value="yes"' in answer.text
    assert heats(database) == 1
    answer = send(marek, bench.at("3E", "ring-in"), **sent, confirm_other_heat="yes")
    assert answer.status_code == 303
    assert "More than one heat." in words(marek.get(url))


def test_the_record_of_the_head_says_how_its_rings_went_in(
    bench: Bench, marek: TestClient, rings: list[Ring], url: str
) -> None:
    in_one_heat(bench, marek, rings, url)
    send(marek, f"/heads/{bench.head.id}/cool-down", **cooled())
    page = words(marek.get(f"/heads/{bench.head.id}/record"))
    assert "heat 1; ring in dry ice; head: oven; head at 118 °C" in page
    assert "cold: stood 90 minutes, in still air; head at 21 °C" in page


class TestHalfBored:
    """2E bored and proved, 3E still to be cut."""

    @pytest.fixture
    def stage(self) -> str:
        return "corrected"

    def test_the_page_of_a_cut_waits_for_the_head_to_cool(
        self, bench: Bench, marek: TestClient, rings: list[Ring], url: str
    ) -> None:
        bench.bore("2E", bench.setting, "1.6222")
        bench.hands.prove(bench.ports["2E"])
        send(marek, bench.at("2E", "ring-in"), **hot(bench, "2E", rings[0]))
        page = words(marek.get(bench.at("3E", f"cut?setting={bench.setting.id}")))
        assert "Not yet: the head is warm" in page
        assert "Heat 1 is not over" in page
        send(marek, f"{url}/over")
        send(marek, f"/heads/{bench.head.id}/cool-down", **cooled())
        page = words(marek.get(bench.at("3E", f"cut?setting={bench.setting.id}")))
        assert "the head is warm" not in page
