"""Guides: decided, measured, replaced after measuring, tried with a pilot."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from sqlmodel import col, select

from app.calc.units import Length
from app.forms.crib import PilotSizesForm
from app.forms.guides import GuidesForm, PilotFitForm, ReplacedForm
from app.models.crib import Fixture
from app.models.inspection import GuideWork
from app.models.reading import Reading, ReadingSet
from app.models.result import NoLongerStands, Result
from app.models.setting import Setting
from app.services.guides import decide_guides, replace_guides, say_pilot_fits
from app.services.pilots import measure_pilot
from app.services.write import NotFound, Refused
from app.workflow.gates import Gate, open_points
from app.workflow.guide_outcomes import GuideOutcome
from app.workflow.kinds import Quantity, ReadingKind, ResultKind, SettingState, Unit
from app.workflow.words import FixtureMode, GuideDecision
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.guides import outcome
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


def test_one_touch_for_the_rest_leaves_what_is_said_of_a_guide(floor: Floor) -> None:
    decide(floor, quick="all_left", **{at(floor, "2E"): "sleeved"}, read_before="hold")
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


def sheet_of(floor: Floor) -> HeadSheet:
    with floor.database.read() as session:
        return load_sheet(session, floor.head)


def stale_kinds(floor: Floor) -> set[ResultKind]:
    with floor.database.read() as session:
        rows = session.exec(
            select(Result.kind).join(
                NoLongerStands, col(NoLongerStands.result_id) == col(Result.id)
            )
        )
        return set(rows)


def across_the_pilot(floor: Floor) -> Setting:
    """Rings read, old pocket read, and one setting that was measured across the pilot."""
    floor.hands.decide(
        floor.head, {"2E": "ring", "3E": "ring", "4E": "leave", "*": "seat_only"}, {"2E": "ring"}
    )
    floor.read_rings()
    floor.hands.pockets(floor.head, {"2E": ["1.6100", "1.6102", ".0030", ".2400"]})
    with floor.database.write() as session:
        fixture = Fixture(
            name="Across-pilot micrometer",
            mode=FixtureMode.ACROSS_PILOT,
            division=Length.of(".0001"),
            unit=Unit.INCH,
        )
        session.add(fixture)
        session.flush()
        fixture_id = fixture.id
    setting = floor.hands.make_setting(
        floor.job,
        [floor.ports["2E"], floor.ports["3E"]],
        cutter=floor.cutter.id,
        fixture=fixture_id,
        pilot=floor.pilot.id,
    )
    return floor.hands.set_to(setting)


def test_pilot_fit_setting_and_concentricity_fall_with_the_guide(floor: Floor) -> None:
    try_pilot(floor, ["2E"])
    setting = across_the_pilot(floor)
    replace(floor, ["2E"])
    assert stale_kinds(floor) == {
        ResultKind.PILOT_FIT,
        ResultKind.SETTING,
        ResultKind.CLEAN_UP,
    }
    with floor.database.read() as session:
        assert session.get_one(Setting, setting.id).state is SettingState.LAPSED
    pockets = sheet_of(floor).rows.port(floor.ports["2E"].id).pockets
    assert pockets is not None
    # How true the old bore ran was to the old guide; how large it is stays true.
    assert pockets.of(Quantity.OLD_RUN_OUT) == ()
    assert len(pockets.of(Quantity.OLD_BORE)) == 2
    assert not sheet_of(floor).facts.port("2E").old_pocket.is_closed_by_value


def test_a_size_set_in_radius_outlives_the_guide(floor: Floor) -> None:
    floor.read_rings()
    setting = floor.set_up()
    replace(floor, ["2E"])
    assert ResultKind.SETTING not in stale_kinds(floor)
    with floor.database.read() as session:
        assert session.get_one(Setting, setting.id).state is SettingState.LIVE


@pytest.mark.parametrize("how", ["sleeved", "reamed"])
def test_sleeving_or_reaming_ends_what_was_read_before_as_a_new_guide_does(
    floor: Floor, how: str
) -> None:
    try_pilot(floor, ["3E"])
    replace(floor, ["3E"], how)
    assert stale_kinds(floor) == {ResultKind.PILOT_FIT}
    assert guides(floor, "3E").counting == ()


def test_a_pilot_that_was_tried_is_asked_about_where_no_bore_was_read(floor: Floor) -> None:
    replace(floor, ["2E"])
    try_pilot(floor, ["2E"])
    with pytest.raises(Refused) as no:
        decide(floor, **{at(floor, "2E"): "sleeved"})
    assert "2E pilot fit" in no.value.message


def test_a_seat_finished_on_the_old_guide_is_read_again(floor: Floor) -> None:
    floor.hands.finish(floor.head, {"1E": [".062", ".0010", "1.853"]})
    replace(floor, ["1E"])
    finish = sheet_of(floor).rows.port(floor.ports["1E"].id).finish
    assert finish is not None
    assert finish.counting == ()


def test_a_knurled_guide_needs_its_reason(floor: Floor) -> None:
    with pytest.raises(Refused) as no:
        decide(floor, **{at(floor, "2E"): "knurled"}, read_before="hold")
    assert no.value.field == "what"
    decide(floor, **{at(floor, "2E"): "knurled"}, read_before="hold", what="sold within the year")
    rows = sheet_of(floor).rows.port(floor.ports["2E"].id)
    assert outcome(rows) is GuideOutcome.KNURLED
    assert "stopgap" in GuideOutcome.KNURLED.screen


def test_saying_how_a_serviced_guide_was_serviced_is_no_new_service(floor: Floor) -> None:
    """Records from before it was asked how keep their readings."""
    with floor.database.write() as session:
        session.add(
            GuideWork(
                port_id=floor.ports["2E"].id,
                decision=GuideDecision.SERVICED,
                by_id=floor.cast.machinist.id,
                at=floor.hands.at,
            )
        )
    decide(floor, **{at(floor, "2E"): "replaced"})
    assert guides(floor, "2E").one(Quantity.GUIDE_BORE) is not None


def test_a_stem_outlives_the_guide_and_a_part_pressed_in_before_does_not(floor: Floor) -> None:
    floor.hands.valve_stems(floor.head, {"2E": ".3412"})
    decide(floor, **{at(floor, "2E"): "replaced"}, read_before="again")
    floor.hands.new_guides(floor.head, {"2E": [".812", ".5005", ".5005", ".5020", ".5020"]})
    replace(floor, ["2E"])
    read = sheet_of(floor).rows.port(floor.ports["2E"].id).new_guides
    assert read is not None
    assert [kept.quantity for kept in read.counting] == [Quantity.STEM]


def test_a_new_guide_measured_before_it_was_said_counts_for_the_one_that_goes_in(
    floor: Floor,
) -> None:
    floor.hands.new_guides(floor.head, {"2E": ["", ".5005", "", ".5020"]})
    replace(floor, ["2E"])
    read = sheet_of(floor).rows.port(floor.ports["2E"].id).new_guides
    assert read is not None
    assert read.one(Quantity.NEW_GUIDE) == Length.of(".5020")
