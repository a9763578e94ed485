"""What rests on a changed fact no longer stands: pages say so, say what to redo, and wait."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.reading import ReadingStrike
from app.models.sheet import Signature
from tests.web.bench import Bench
from tests.web.pages import Walk


@pytest.fixture
def marek(bench: Bench, signed_in_as: Callable[[str], TestClient]) -> Walk:
    return Walk(signed_in_as("Marek"))


@pytest.mark.parametrize("stage", ["set"])
def test_a_ring_read_anew_leaves_its_setting_without_ground_until_it_is_made_again(
    bench: Bench, marek: Walk
) -> None:
    cut = bench.at("2E", "cut")
    marek.get("/ring-sets/1")
    marek.send(dict.fromkeys(marek.names("ring_od."), "1.6272"), press="Keep the readings")

    marek.get(f"{cut}?setting=1").says(
        "a reading under it was typed again",
        "Still good: ring height, depth stop, pocket, guide and stem readings",
        "Cannot be recorded for 2E",
    )
    assert not any(form.buttons("2E") for form in marek.forms)
    marek.get("/settings/1").says("S-1 no longer stands").follow("Make the setting again")
    marek.send(press="Work out what to set").says(".8106 in radius")
    marek.send(achieved=".8106", press="Keep it").follow("Next: 2E")
    marek.send(press="2E").says("Gauge it, spindle still centred")
    # The old setting stays over: it opens nothing any more.
    marek.get(f"{bench.at('3E', 'cut')}?setting=1").says("3E needs setting S-2")


@pytest.mark.parametrize("stage", ["ringed"])
def test_a_bore_struck_after_signing_opens_the_position_again_and_leaves_what_was_signed(
    bench: Bench, marek: Walk, signed_in_as: Callable[[str], TestClient], database: Database
) -> None:
    job = f"/jobs/{bench.job.number}"
    marek.get(f"/heads/{bench.head.id}/finish")
    marek.send(
        {
            **dict.fromkeys(marek.names("seat_width."), ".060"),
            **dict.fromkeys(marek.names("run_out."), ".0010"),
            **dict.fromkeys(marek.names("stem_after."), "1.852"),
        },
        press="Next: sign",
    )
    marek.send(press="Sign as Marek").says("All signed")

    marek.get(bench.at("2E", "cut"))
    marek.send(reason="the gauge was zeroed on the wrong master", press="Strike it")
    marek.says("the gauge was zeroed on the wrong master", "The ring is in and the bore cannot")
    marek.get(f"{job}/sign").says("open again", "2E: verdict on the bore")
    marek.get(bench.at("2E", "cut")).follow("Stop: something is wrong")
    marek.send(words="one bore reading is gone", press="Put 2E on hold")
    marek.says("For the owner")  # what was not measured is no machinist's to keep

    odile = Walk(signed_in_as("Odile")).get(marek.url)
    odile.send(
        decided_by="Odile",
        customer_told="yes",
        reason="the other reading holds, and the ring grips",
        press="Sign for it",
    )
    # What was signed stands as it was signed, with the deviation signed beside it.
    marek.get(f"{job}/sign").says("All signed", "Deviation", "the other reading holds")
    with database.read() as session:
        signature = session.exec(select(Signature)).one()
        struck = session.exec(select(ReadingStrike)).one()
    assert "2E" in signature.words
    assert struck.reason == "the gauge was zeroed on the wrong master"


@pytest.mark.parametrize("stage", ["set"])
def test_a_guide_replaced_after_measuring_shuts_its_position_until_it_is_measured(
    bench: Bench, marek: Walk
) -> None:
    guides = f"/heads/{bench.head.id}/guides"
    marek.get(guides)
    marek.send(port=[str(bench.ports["2E"].id)], how="replaced", press="This was done to them")
    marek.says("Measure the new guide")
    marek.get(bench.at("3E", "cut") + "?setting=1").says("Touch 3E on the head map")
    marek.get(bench.at("2E", "cut") + "?setting=1")
    assert marek.link("uide").startswith(guides)
    marek.get(guides)
    marek.send({marek.names("guide_bore.")[3]: ".3437"}, press="Keep the readings")
    marek.get(bench.at("2E", "cut") + "?setting=1").says("Touch 2E on the head map")


@pytest.mark.parametrize("stage", ["bored"])
def test_rings_swapped_after_boring_are_judged_anew_before_one_goes_in(
    bench: Bench, marek: Walk
) -> None:
    rings_in = f"/heads/{bench.head.id}/rings-in"

    def choose(**rings: str) -> None:
        marek.get("/ring-sets/1")
        for label, ring in rings.items():
            port_id = bench.ports[label.removeprefix("at_")].id
            marek.send_to(f"/ring-sets/1/positions/{port_id}/ring", ring=ring)

    def judge_both() -> None:
        for label in ("2E", "3E"):
            marek.get(bench.at(label, "cut")).send(press=f"{label} is bored")

    choose(at_2E="1", at_3E="2")
    judge_both()
    choose(at_3E="", at_2E="2")
    choose(at_3E="1")
    marek.get(rings_in).says(
        "another ring was chosen for this position",
        "Judge bore and depth with the ring that is to go in",
        "Still good: bore and depth as gauged, every reading of the rings",
    )
    assert not any(form.buttons("in") for form in marek.forms if form.action == rings_in)

    judge_both()
    marek.get(rings_in)
    assert [marek.form(rings_in).named(name)[0].value for name in marek.names("ring.")] == [
        "2",
        "1",
    ]
