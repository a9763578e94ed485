"""Not done, because …: said of a head or of positions, and taken back."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from app.forms.guides import ReplacedForm
from app.forms.not_done import NotDoneForm
from app.models.person import Person
from app.services.guides import replace_guides
from app.services.not_done import say_not_done, withdraw_not_done
from app.services.write import NotFound, Refused
from app.workflow.gates import Gate, closed_by_reason, open_points
from app.worksheets.facts import load_sheet
from tests.services.floor import Floor


def say(
    floor: Floor,
    key: str,
    labels: Sequence[str] = (),
    because: str = "no gauge for it here",
    by: Person | None = None,
) -> None:
    ports = [str(floor.ports[label].id) for label in labels]
    form = NotDoneForm({"because": because}, [key], ports)
    assert form.ok, form.errors
    if by is not None:
        floor.hands.by(by)
    with floor.hands.writing() as tx:
        say_not_done(tx, floor.head.id, form)


def guides_open_at(floor: Floor) -> list[str | None]:
    """The positions whose guide is open before metal comes off."""
    with floor.database.read() as session:
        facts = load_sheet(session, floor.head).facts
    return [point.label for point in open_points(Gate.METAL_OFF, facts) if point.key == "guides"]


@pytest.fixture
def not_gauged(floor: Floor) -> Floor:
    """The guides of 2E and 3E were replaced and are not gauged again."""
    ids = [str(floor.ports[label].id) for label in ("2E", "3E")]
    with floor.hands.writing() as tx:
        replace_guides(tx, floor.head.id, ReplacedForm({"how": "replaced"}, ids))
    assert guides_open_at(floor) == ["2E", "3E"]
    return floor


def test_a_reason_closes_the_point_of_the_positions_named_and_of_no_other(
    not_gauged: Floor,
) -> None:
    say(not_gauged, "guides", ["2E"])
    assert guides_open_at(not_gauged) == ["3E"]


def test_the_reason_is_told_where_a_result_would_stand(not_gauged: Floor) -> None:
    say(not_gauged, "guides", ["2E"])
    with not_gauged.database.read() as session:
        facts = load_sheet(session, not_gauged.head).facts
    told = [point.point.told for point in closed_by_reason(Gate.METAL_OFF, facts, ["2E"])]
    assert "no gauge for it here" in told


def test_taken_back_it_is_open_again(not_gauged: Floor) -> None:
    say(not_gauged, "guides", ["2E", "3E"])
    with not_gauged.hands.writing() as tx:
        withdraw_not_done(tx, not_gauged.head.id, "guides", [not_gauged.ports["2E"].id])
    assert guides_open_at(not_gauged) == ["2E"]


def test_a_point_of_positions_needs_positions(floor: Floor) -> None:
    with pytest.raises(Refused) as no:
        say(floor, "wall")
    assert no.value.field == "port"


def test_what_accepts_no_reason_is_refused_at_the_form() -> None:
    form = NotDoneForm({"because": "in a hurry"}, ["material"], [])
    assert "key" in form.errors


def test_a_reason_has_to_be_given() -> None:
    assert "because" in NotDoneForm({"because": " "}, ["wall"], ["1"]).errors


def test_a_position_of_another_head_is_not_found(floor: Floor) -> None:
    form = NotDoneForm({"because": "not known"}, ["wall"], ["9999"])
    with pytest.raises(NotFound), floor.hands.writing() as tx:
        say_not_done(tx, floor.head.id, form)


def test_the_counter_counts_parts_but_does_not_say_that_a_guide_was_not_measured(
    floor: Floor,
) -> None:
    with pytest.raises(Refused, match=r"(?i)machinist"):
        say(floor, "guides", ["2E"], by=floor.cast.service_writer)
    say(floor, "parts_counted", because="nothing came with it")
    with floor.database.read() as session:
        facts = load_sheet(session, floor.head).facts
    assert "parts_counted" not in [point.key for point in open_points(Gate.HAND_OVER, facts)]
