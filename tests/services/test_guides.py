"""Guides: decided, measured, replaced after measuring, tried with a pilot."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from sqlmodel import col, select

from app.forms.crib import PilotSizesForm
from app.forms.guides import GuidesForm, PilotFitForm, ReplacedForm
from app.models.inspection import GuideWork
from app.models.reading import Reading, ReadingSet
from app.models.result import NoLongerStands, Result
from app.services.guides import decide_guides, replace_guides, say_pilot_fits
from app.services.pilots import measure_pilot
from app.services.write import NotFound, Refused
from app.workflow.gates import Gate, open_points
from app.workflow.kinds import Quantity, ReadingKind, ResultKind, Unit
from app.workflow.words import GuideDecision
from app.worksheets.facts import load_sheet
from app.worksheets.readings import Readings, load_readings
from tests.services.floor import Floor


def decide(floor: Floor, **said: str) -> None:
    """`decide(floor, quick="all_left")`, or by label with `at("2E")` names."""
    ids = [port.id for port in floor.ports.values()]
    form = GuidesForm(said, ids)
    assert form.ok, form.errors
    with floor.hands.writing() as tx:
        decide_guides(tx, floor.head.id, form)


def at(floor: Floor, label: str) -> str:
    """The field of one position's decision."""
    return f"guide_{floor.ports[label].id}"


def replace(floor: Floor, labels: Sequence[str], how: str = "replaced", what: str = "") -> None:
    form = ReplacedForm(
        {"how": how, "what": what}, [str(floor.ports[label].id) for label in labels]
    )
    assert form.ok, form.errors
    with floor.hands.writing() as tx:
        replace_guides(tx, floor.head.id, form)


def try_pilot(floor: Floor, labels: Sequence[str]) -> None:
    ids = [str(floor.ports[label].id) for label in labels]
    form = PilotFitForm({"pilot": str(floor.pilot.id)}, ids)
    assert form.ok, form.errors
    with floor.hands.writing() as tx:
        say_pilot_fits(tx, floor.head.id, form)


def decisions(floor: Floor) -> dict[str, list[GuideDecision]]:
    """All that was decided of each position, oldest first."""
    with floor.database.read() as session:
        rows = session.exec(select(GuideWork).order_by(col(GuideWork.id))).all()
    return {
        label: [row.decision for row in rows if row.port_id == port.id]
        for label, port in floor.ports.items()
    }


def guides(floor: Floor, label: str) -> Readings:
    port_id = floor.ports[label].id
    with floor.database.read() as session:
        return load_readings(session, ReadingKind.GUIDES, "port", [port_id])[port_id]


def open_at(floor: Floor, label: str) -> list[str]:
    """The keys still open before metal comes off at a position."""
    with floor.database.read() as session:
        facts = load_sheet(session, floor.head).facts
    return [point.key for point in open_points(Gate.METAL_OFF, facts, [label]) if point.label]


def test_what_stands_already_is_not_written_twice(floor: Floor) -> None:
    decide(floor, quick="all_left")
    assert decisions(floor)["2E"] == [GuideDecision.LEFT]


def test_one_guide_may_be_serviced_and_the_others_left(floor: Floor) -> None:
    decide(floor, **{at(floor, "2E"): "sleeved"}, read_before="hold", what="liner")
    assert decisions(floor)["2E"] == [GuideDecision.LEFT, GuideDecision.SERVICED]
    assert decisions(floor)["3E"] == [GuideDecision.LEFT]


def test_bores_read_before_a_service_was_said_are_asked_about(floor: Floor) -> None:
    with pytest.raises(Refused) as no:
        decide(floor, quick="all_new")
    assert no.value.field == "read_before"
    assert "2E .3436" in no.value.message
    assert decisions(floor)["2E"] == [GuideDecision.LEFT]


def test_bores_read_after_the_service_still_count(floor: Floor) -> None:
    decide(floor, quick="all_new", read_before="hold")
    assert guides(floor, "2E").one(Quantity.GUIDE_BORE) is not None
    assert "guides" not in open_at(floor, "2E")


def test_bores_that_the_service_took_away_are_read_again(floor: Floor) -> None:
    decide(floor, quick="all_new", read_before="again")
    assert guides(floor, "2E").one(Quantity.GUIDE_BORE) is None
    assert "guides" in open_at(floor, "2E")
    floor.hands.guide_bores(floor.head, {"2E": ".3438"})
    assert "guides" not in open_at(floor, "2E")


def test_a_guide_replaced_after_measuring_is_open_again_and_the_others_are_not(
    floor: Floor,
) -> None:
    replace(floor, ["2E"])
    assert "guides" in open_at(floor, "2E")
    assert "guides" not in open_at(floor, "3E")
    assert decisions(floor)["2E"][-1] is GuideDecision.SERVICED


def test_what_rested_on_a_replaced_guide_no_longer_stands(floor: Floor) -> None:
    try_pilot(floor, ["2E", "3E"])
    replace(floor, ["2E"])
    with floor.database.read() as session:
        fits = session.exec(select(Result).where(Result.kind == ResultKind.PILOT_FIT)).all()
        gone = session.exec(select(NoLongerStands)).all()
    by_port = {result.port_id: result.id for result in fits}
    assert [row.result_id for row in gone] == [by_port[floor.ports["2E"].id]]
    assert "replaced" in gone[0].because


def measure(floor: Floor, guide: str, shank: str) -> None:
    form = PilotSizesForm(
        {"guide_diameter": guide, "shank_diameter": shank, "measured_on": "2026-12-01"},
        unit=Unit.INCH,
    )
    assert form.ok, form.errors
    with floor.hands.writing() as tx:
        measure_pilot(tx, floor.pilot.id, form)


def test_a_pilot_that_was_measured_again_has_its_fits_looked_at_anew(floor: Floor) -> None:
    try_pilot(floor, ["2E"])
    measure(floor, ".3428", ".3432")
    assert "guides" in open_at(floor, "2E")
    assert "guides" not in open_at(floor, "3E")
    with floor.database.read() as session:
        [gone] = session.exec(select(NoLongerStands)).all()
    assert gone.because == "pilot 343 was re-measured"
    assert "Look at the pilot's fit anew" in gone.redo
    try_pilot(floor, ["2E"])
    assert "guides" not in open_at(floor, "2E")


def test_a_shank_that_wore_leaves_the_fit_in_the_guide_as_it_is(floor: Floor) -> None:
    try_pilot(floor, ["2E"])
    measure(floor, ".3432", ".3430")
    assert "guides" not in open_at(floor, "2E")


def test_a_replaced_guide_keeps_its_old_bore_on_record(floor: Floor) -> None:
    replace(floor, ["2E"])
    assert guides(floor, "2E").counting == ()
    with floor.database.read() as session:
        typed = session.exec(
            select(Reading.typed)
            .join(ReadingSet, col(ReadingSet.id) == col(Reading.reading_set_id))
            .where(
                ReadingSet.port_id == floor.ports["2E"].id, ReadingSet.kind == ReadingKind.GUIDES
            )
        ).all()
    assert typed == [".3436"]


def test_a_pilot_that_fits_closes_the_guide_without_a_bore(floor: Floor) -> None:
    replace(floor, ["2E"])
    try_pilot(floor, ["2E"])
    assert "guides" not in open_at(floor, "2E")


def test_a_pilot_larger_than_the_bore_does_not_fit(floor: Floor) -> None:
    replace(floor, ["2E"])
    floor.hands.guide_bores(floor.head, {"2E": ".3430"})
    with pytest.raises(Refused) as no:
        try_pilot(floor, ["2E", "3E"])
    assert no.value.field == "pilot"
    assert no.value.message.startswith("2E: by its bore the guide is smaller than pilot 343")


def test_a_position_of_another_head_is_not_decided(floor: Floor) -> None:
    form = GuidesForm({"guide_9999": "left"}, [9999])
    with pytest.raises(NotFound), floor.hands.writing() as tx:
        decide_guides(tx, floor.head.id, form)


def test_a_replaced_guide_has_to_be_named_and_said() -> None:
    form = ReplacedForm({"how": "mended"}, ["x", "²"])
    assert set(form.errors) == {"port", "how"}
