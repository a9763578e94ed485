"""A pair of V8 heads, sixteen seat rings, with scripts off: one setting serves both heads."""

from __future__ import annotations

from collections.abc import Callable

from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.port_pass import Verification
from app.models.setting import SettingPort
from app.workflow.kinds import Verdict
from seed_demo.shop import Shop
from tests.web.pages import Walk

MOST_NUMBERS = 260
CYLINDERS = {"left": "1357", "right": "2468"}


def labels(head: str, kind: str) -> list[str]:
    """Exhausts or intakes of a head."""
    return [f"{cylinder}{kind}" for cylinder in CYLINDERS[head]]


def gauge(marek: Walk, label: str, bore: str, *, touch: bool = False) -> None:
    """Open it, cut it, gauge it with the spindle still centred, and accept the verdict.

    `touch`: the first of a clamp-up is opened by touching it on the head map.
    """
    marek.send(press=label if touch else f"Open {label}")
    across, along = marek.names("bore.")[:2]
    (depth,) = marek.names("depth.")
    marek.send({across: bore, along: bore, depth: ".2501"}, press="Keep")
    marek.send(press=f"{label} is bored")


def first_pass(marek: Walk, label: str, bore: str) -> None:
    """The first bore is cut under size on purpose; the setting is corrected by what it cut."""
    marek.send(press=label)
    marek.send(dict.fromkeys(marek.names("bore.")[:2], bore), press="Keep")
    marek.send(press="Correct the setting")


def read_again(marek: Walk, setting: str, reading: str) -> None:
    """One reading of the fixture is enough when only the clamp-up changed."""
    marek.follow(f"Read setting {setting} back").send(achieved=reading, press="Keep it")
    marek.follow("Next: ")


def clamp_up(marek: Walk) -> None:
    """The head of the page stands on the machine now."""
    marek.send(
        level="two axes, end for end",
        datum="chamber_roof",
        touch_off=".3120",
        travel="1.5",
        press="It is clamped up",
    )


def set_up(marek: Walk) -> None:
    """Cutter, fixture and pilot for the first setting of the plan."""
    marek.send(
        cutter=marek.choice("cutter", "Cutter 1"),
        fixture=marek.choice("fixture", "Setting fixture"),
        pilot=marek.choice("pilot", "Pilot .3432"),
        press="Work out what to set",
    )


def read_rings(marek: Walk, first: str, second: str) -> None:
    """The first of a set at four places and three heights, the others at two and one."""
    diameters, heights = marek.names("ring_od."), marek.names("ring_height.")
    marek.send(
        {name: (first, second)[n % 2] for n, name in enumerate(diameters)}
        | dict.fromkeys(heights, ".2501"),
        press="Keep the readings",
    )


def press_rings(marek: Walk) -> None:
    """All rings of a head in one heat; rings of a set may be mixed, so any free one will do."""
    chosen: dict[str, str] = {}
    for name in marek.names("ring."):
        offered = [each.value for each in marek.form(marek.url).named(name)]
        chosen[name] = next(ring for ring in offered if ring not in chosen.values())
    marek.send(
        chosen,
        way="press",
        feeler="does not enter",
        press="These rings are in",
    )


def finish(marek: Walk) -> None:
    """Seat width, run-out and stem height after, along the head."""
    marek.send(
        {
            **dict.fromkeys(marek.names("seat_width."), ".062"),
            **dict.fromkeys(marek.names("run_out."), ".0010"),
            **dict.fromkeys(marek.names("stem_after."), "1.852"),
        },
        press="Next: sign",
    )


def test_a_pair_of_heads_takes_one_setting_for_each_kind_of_valve(
    crib: Shop, signed_in_as: Callable[[str], TestClient], database: Database
) -> None:
    wilma, marek = Walk(signed_in_as("Wilma")), Walk(signed_in_as("Marek"))

    wilma.get("/").follow("New job")
    wilma.send(
        customer="Cinder Path Racing",
        phone="555-0190",
        wanted="hard seats all round, both heads",
        heads="both",
        press="Take it in, print the tag",
    )
    wilma.follow("Back to")
    job = wilma.url
    wilma.follow("Describe this head")
    wilma.send(cylinder_count="4", valves="2", press="Show how they may lie")
    wilma.send(
        casting="CP 81",
        material="grey_iron",
        pattern="EIIEEIIE",
        cylinders="1-3-5-7",
        numbered_from="timing end",
        press="Keep and go on",
    )
    for quick in ("All exhausts: seat ring", "All intakes: seat ring", "All: in the casting"):
        wilma.send(press=quick)
    wilma.send(press="Keep")
    wilma.follow("Describe this head")
    # The other head of a pair lies alike; its cylinders are 2-4-6-8.
    wilma.says("Like the left head of this job").send(press="Take these over")
    for quick in ("All exhausts: seat ring", "All intakes: seat ring", "All: in the casting"):
        wilma.send(press=quick)
    wilma.send(press="Keep")
    wilma.get("/heads/2/edit").send(casting="CP 82", press="Keep and go on")
    wilma.get(job).follow("Record consent").send(
        limit="2400", how="signed", press="Put it on record"
    )
    wilma.follow("count in").send(nothing="yes", press="Count in")

    for touched in ("1E", "2E"):
        marek.get(job).follow(f"{touched}measure")
        marek.send(outcome_crack="ok", press="Next: stem heights")
        marek.send(dict.fromkeys(marek.names("stem_height."), "1.850"), press="Next: guides")
        marek.send(press="The rest: left as they are")
        marek.send(dict.fromkeys(marek.names("guide_bore."), ".3436"), press="Next: old pockets")
        marek.send(
            key=["wall", "web"], because="no thickness gauge here", press="Record the reason"
        )
    marek.send(press="Next: the rings").send(press="Next: read the rings")
    read_rings(marek, "1.6262", "1.6261")
    marek.send(press="Next: set the cutter")
    marek.says("1 setting serves 8 seat rings").follow("Enter the rings")
    marek.send(press="Next: read the rings")
    read_rings(marek, "1.9412", "1.9411")
    marek.send(press="Next: set the cutter").says("2 settings serve 16 seat rings")

    # All exhausts of both heads by one setting; the right head is clamped up after the left.
    set_up(marek)
    marek.says("Set Cutter 1 for left 1E, 3E, 5E, 7E and right 2E, 4E, 6E, 8E")
    marek.send(achieved=".8100", press="Keep it").follow("Next: clamp up left head")
    clamp_up(marek)
    first_pass(marek, "1E", "1.6203")
    marek.says(".8109 in radius").send(achieved=".8109", press="Keep it").follow("Next: left 1E")
    for label in labels("left", "E"):
        gauge(marek, label, "1.6222")
    marek.says("The head is not clamped up").follow("Clamp the head up")
    clamp_up(marek)
    read_again(marek, "S-1", ".8109")
    for label in labels("right", "E"):
        gauge(marek, label, "1.6222", touch=label == "2E")

    # The intakes are another size; now the right head is on the machine already.
    marek.get(job).follow("2I")
    marek.says("1 setting serves 8 seat rings")
    set_up(marek)
    marek.says(".9675 in radius").send(achieved=".9675", press="Keep it").follow("Next: right 2I")
    first_pass(marek, "2I", "1.9353")
    marek.says(".9684 in radius").send(achieved=".9684", press="Keep it").follow("Next: right 2I")
    for label in labels("right", "I"):
        gauge(marek, label, "1.9372")
    marek.follow("Clamp the head up")
    clamp_up(marek)
    read_again(marek, "S-2", ".9684")
    for label in labels("left", "I"):
        gauge(marek, label, "1.9372", touch=label == "1I")

    press_rings(marek)
    finish(marek)
    marek.follow("Bench").follow("8 positions: press the ring")
    press_rings(marek)
    finish(marek)
    marek.says("16 positions to sign").send(press="Sign as Marek")
    for _ in CYLINDERS:
        marek.get(f"{job}/hand-over")
        marek.follow("Pressure test after boring").send(outcome_pressure_after="ok", press="Keep")
    wilma.get(job).follow("Hand over").send(clean="ok", press="Hand it over")

    wilma.says("Head record, left, revision 1", "Head record, right, revision 1")
    with database.read() as session:
        bores = session.exec(select(Verification)).all()
        named = session.exec(select(SettingPort.setting_id)).all()
    assert [each.verdict for each in bores] == [Verdict.INSIDE] * 16
    assert {setting: named.count(setting) for setting in named} == {1: 8, 2: 8}
    print(f"{wilma.typed + marek.typed} numbers typed")
    assert wilma.typed + marek.typed <= MOST_NUMBERS
