"""A metric head of sixteen valves, with scripts off: from intake to the signed record."""

from __future__ import annotations

from collections.abc import Callable

from sqlmodel import col, select
from starlette.testclient import TestClient

from app.db import Database
from app.models.port_pass import Verification
from app.workflow.kinds import Verdict
from seed_demo.shop import Shop
from tests.web.pages import Walk

EXHAUSTS = [f"{cylinder}E{nth}" for cylinder in "1234" for nth in "12"]


def test_a_metric_aluminium_head_goes_to_its_signed_record(
    crib: Shop, signed_in_as: Callable[[str], TestClient], database: Database
) -> None:
    wilma, marek = Walk(signed_in_as("Wilma")), Walk(signed_in_as("Marek"))

    wilma.get("/").follow("New job")
    wilma.send(
        customer="Mill Street Motors",
        phone="555-0144",
        unit="mm",
        wanted="exhaust seats sunk, runs on gas",
        press="Take it in, print the tag",
    )
    wilma.follow("Back to").follow("Describe the head")
    wilma.send(cylinder_count="4", valves="4", press="Show how they may lie")
    wilma.send(
        casting="MS 16V 2",
        material="aluminium",
        heat_history="unknown",
        fuel="petrol and gas",
        pattern="IIIIIIII/EEEEEEEE",
        numbered_from="timing end",
        press="Keep and go on",
    )
    for quick in ("All exhausts: seat ring", "The rest: seat only", "All: seat ring"):
        wilma.send(press=quick)
    wilma.send(press="Keep").follow("Record consent")
    wilma.send(limit="980", how="phone", press="Put it on record").follow("count")
    wilma.send(nothing="yes", press="Count in")

    # An aluminium head whose history is not known is asked for its hardness.
    marek.get(wilma.url).follow("Crack test is still open").says("Hardness")
    marek.send(
        outcome_crack="ok",
        method_crack="dye penetrant",
        outcome_hardness="ok",
        found_hardness="98, 101, 99 HB",
        press="Next: stem heights",
    )
    marek.send(dict.fromkeys(marek.names("stem_height."), "47.20"), press="Next: guides")
    marek.send(press="The rest: left as they are")
    marek.send(dict.fromkeys(marek.names("guide_bore."), "6.990"), press="Next: old pockets")
    marek.send(
        {
            **dict.fromkeys(marek.names("old_bore."), "33.90"),
            **dict.fromkeys(marek.names("old_run_out."), "0.04"),
            **dict.fromkeys(marek.names("old_depth."), "6.20"),
        },
        press="Keep the readings",
    )
    marek.send(key=["wall", "web"], because="no thickness gauge here", press="Record the reason")
    marek.send(press="Next: the rings").send(press="Next: read the rings")
    first, others = marek.names("ring_od.")[:4], marek.names("ring_od.")[4:]
    heights = marek.names("ring_height.")
    marek.send(
        {
            **dict(zip(first, ("34.301", "34.300", "34.301", "34.302"), strict=True)),
            **{name: f"34.30{n % 2}" for n, name in enumerate(others)},
            **dict.fromkeys(heights, "6.35"),
        },
        press="Keep the readings",
    )
    marek.send(press="Next: set the cutter")
    marek.send(
        cutter=marek.choice("cutter", "Cutter 2"),
        fixture=marek.choice("fixture", "Across-pilot micrometer"),
        press="Work out what to set",
    )
    # Across the pilot: half of bore and shank, down to a whole division.
    marek.says("20.526 mm across the pilot")
    marek.send(achieved="20.526", press="Keep it").follow("Next: clamp up")
    marek.send(
        level="both rows, end for end",
        datum="chamber_roof",
        touch_off="8.00",
        travel="40",
        press="It is clamped up",
    )
    # The tip is not known in aluminium: a first pass under size says what it cuts.
    marek.send(press="1E1")
    marek.send(dict.fromkeys(marek.names("bore.")[:2], "34.080"), press="Keep")
    marek.send(press="Correct the setting")
    marek.says("20.546 mm across the pilot").send(achieved="20.546", press="Keep it")
    marek.follow("Next: 1E1")
    for label in EXHAUSTS:
        marek.send(press=f"Open {label}")
        across, along = marek.names("bore.")[:2]
        (depth,) = marek.names("depth.")
        marek.send({across: "34.122", along: "34.123", depth: "6.35"}, press="Keep")
        marek.send(press=f"{label} is bored")
    assert marek.heading == "Rings in"
    marek.send(
        {
            name: marek.choice(name, f"Ring {nth}")
            for nth, name in enumerate(marek.names("ring."), start=1)
        },
        way="press",
        feeler="does not enter",
        press="These rings are in",
    )
    marek.send(
        {
            **dict.fromkeys(marek.names("seat_width."), "1.50"),
            **dict.fromkeys(marek.names("run_out."), "0.02"),
            **dict.fromkeys(marek.names("stem_after."), "47.28"),
        },
        press="Next: sign",
    )
    marek.send(press="Sign as Marek").follow("To the hand-over")
    marek.follow("Pressure test after boring")
    marek.send(
        outcome_pressure_after="ok", method_pressure_after="air under warm water", press="Keep"
    )

    wilma.get(marek.url).follow("26-0001").follow("Hand over")
    wilma.send({"clean": "ok"}, press="Hand it over")
    wilma.follow("Head record, revision 1").says(
        "8 of 8 seat rings in",
        "MS 16V 2",
        "98, 101, 99 HB",
        "Wall behind the counterbore",
        "no thickness gauge here",
        "Finished by these readings",
        "Handed over to Mill Street Motors",
    )
    with database.read() as session:
        bores = session.exec(select(Verification).order_by(col(Verification.id))).all()
    assert [each.verdict for each in bores] == [Verdict.INSIDE] * 8
    # 34.3006 - 34.1225 by the mean of every ring of a set that may be mixed.
    assert {each.interference.mm(4) for each in bores} == {"0.1781"}
    wilma.says("34.3006", "34.1225", "0.1781", "0.1524–0.2032")
