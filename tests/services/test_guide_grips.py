"""The grip of a new guide is frozen with the signature, and falls with what it rests on."""

from __future__ import annotations

import pytest

from app.queries.record_guides import GuideLine, guide_lines
from app.services.readings import strike_reading
from app.services.shop_rules import set_rule
from app.workflow.kinds import Quantity
from app.worksheets.facts import load_sheet
from app.worksheets.materials import head_figures
from app.worksheets.shop_rules import current_rules
from tests.services.finished import finish_head
from tests.services.floor import Done, Floor


def finished_with_a_new_guide(floor: Floor) -> None:
    """2I got a new guide; everything is done, nothing is signed."""
    finish_head(floor, is_signed=False)
    hands = floor.hands
    hands.service_guides(floor.head, {"2I": "replaced"}, read_before="hold")
    hands.new_guides(floor.head, {"2I": ["", ".5006", "", ".5020", "", ""]})


@pytest.fixture
def stage() -> Done:
    return finished_with_a_new_guide


def sign(floor: Floor) -> None:
    floor.hands.sign(floor.job, [floor.ports["2I"]])


def on_record(floor: Floor) -> GuideLine:
    """2I's line on the head record."""
    with floor.database.read() as session:
        sheet = load_sheet(session, floor.head)
        lines = guide_lines(
            sheet,
            head_figures(session, floor.head),
            current_rules(session),
            {floor.cast.machinist.id: "Marek"},
        )
    return next(line for line in lines if line.label == "2I")


def narrow_the_rule(floor: Floor) -> None:
    with floor.hands.by(floor.cast.owner).writing() as tx:
        set_rule(tx, "guide_grip_most_iron", ".0012 in", "our own habit")


def test_until_it_is_signed_a_grip_follows_the_rules(floor: Floor) -> None:
    assert on_record(floor).grip == "grip .0014, wanted .0010 to .0020: as wanted"
    narrow_the_rule(floor)
    assert on_record(floor).grip == "grip .0014, wanted .0010 to .0012: too tight"


def test_signed_it_stays_as_it_was_signed_for(floor: Floor) -> None:
    sign(floor)
    narrow_the_rule(floor)
    line = on_record(floor)
    assert (line.grip, line.is_off) == ("grip .0014, wanted .0010 to .0020: as wanted", False)


def test_a_struck_outside_leaves_the_signed_grip_without_ground(floor: Floor) -> None:
    sign(floor)
    with floor.database.read() as session:
        read = load_sheet(session, floor.head).rows.port(floor.ports["2I"].id).new_guides
        assert read is not None
        [outside] = read.of(Quantity.NEW_GUIDE)
    with floor.hands.writing() as tx:
        strike_reading(tx, outside.id, "another guide's", floor.head)
    assert on_record(floor).no_longer == "a reading under it was struck: another guide's"
