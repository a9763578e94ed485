"""What is refused before metal comes off, and what a changed fact unsettles afterwards."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlmodel import Session, col, select

from app.forms.readings import GridForm
from app.models.port_pass import Cut, CutOpening, Hold, PortPass, Verification
from app.models.reading import Reading
from app.models.result import NoLongerStands
from app.models.ring import RingSet
from app.models.setting import Setting
from app.queries.bore_readings import bore_cells
from app.services.cuts import gauge, open_cut, say_not_cut
from app.services.readings import ReadWith, strike_reading
from app.services.ring_sets import choose_ring
from app.services.write import Refused
from app.workflow.kinds import PassOutcome, Quantity, SettingState, Verdict
from app.workflow.words import Stage
from app.worksheets.facts import load_sheet
from tests.services.floor import Done, Floor, nothing


@pytest.fixture
def stage() -> Done:
    return Floor.first_bored


@pytest.fixture
def bored(floor: Floor) -> tuple[Setting, RingSet]:
    """The setting, still live for 3E, and the ring set."""
    return floor.setting, floor.ring_set


def refused(floor: Floor, label: str, setting: Setting) -> str:
    """The words with which a position is refused."""
    with pytest.raises(Refused) as no, floor.hands.writing() as tx:
        open_cut(tx, floor.ports[label], setting.id, was_touched=True)
    return no.value.message


def test_another_position_than_those_of_the_setting_is_refused_with_its_neighbours(
    floor: Floor, bored: tuple[Setting, RingSet]
) -> None:
    words = refused(floor, "3I", bored[0])
    assert "Cannot be recorded for 3I" in words
    assert "is for 2E and 3E only" in words
    assert "3I gets no ring" in words
    with floor.database.read() as session:
        assert len(session.exec(select(CutOpening)).all()) == 2


@pytest.mark.parametrize("stage", [nothing])
def test_nothing_is_cut_before_the_head_is_clamped_up(floor: Floor) -> None:
    floor.read_rings()
    setting = floor.set_up()
    assert "Clamp the head up first" in refused(floor, "2E", setting)


@pytest.mark.parametrize("stage", [Floor.set_and_clamped])
def test_a_shut_gate_names_what_is_open_before_metal_comes_off(floor: Floor) -> None:
    with floor.database.write() as session:
        stems = session.exec(select(Reading).where(Reading.quantity == Quantity.STEM_HEIGHT)).all()
        first = stems[3].id
    with floor.hands.writing() as tx:
        strike_reading(tx, first, "read on the wrong valve", floor.head)
    words = refused(floor, "2E", floor.setting)
    assert "before metal comes off" in words
    assert "stem height" in words


def test_a_setting_is_read_again_on_a_new_day(floor: Floor, bored: tuple[Setting, RingSet]) -> None:
    floor.hands.later(days=1)
    assert "Read the fixture once more: it was set on another day" in refused(floor, "3E", bored[0])
    floor.hands.set_to(bored[0])
    with floor.hands.writing() as tx:
        open_cut(tx, floor.ports["3E"], bored[0].id, was_touched=True)


def test_another_person_reads_the_setting_again(
    floor: Floor, bored: tuple[Setting, RingSet]
) -> None:
    floor.hands.by(floor.cast.owner)
    assert "another person set it" in refused(floor, "3E", bored[0])


def test_the_position_is_carried_along_the_setting_and_touched_after_a_pause(
    floor: Floor, bored: tuple[Setting, RingSet]
) -> None:
    floor.hands.later(minutes=11)
    with (
        pytest.raises(Refused, match="Touch 3E on the head map first"),
        floor.hands.writing() as tx,
    ):
        open_cut(tx, floor.ports["3E"], bored[0].id, was_touched=False)


@pytest.mark.parametrize("stage", [nothing])
def test_the_quill_must_reach_the_depth_with_travel_to_spare(floor: Floor) -> None:
    floor.read_rings()
    setting = floor.set_up()
    floor.hands.clamp(floor.head, floor.machine.id, travel=".200")
    assert "quill runs out of travel" in refused(floor, "2E", setting)


def test_a_bore_out_of_limits_holds_the_position_and_a_larger_ring_opens_the_next_pass(
    floor: Floor, bored: tuple[Setting, RingSet]
) -> None:
    hands, port = floor.hands, floor.ports["3E"]
    floor.bore("3E", bored[0], "1.62465")
    hands.prove(port)
    with floor.database.read() as session:
        hold = session.exec(select(Hold)).one()
        assert hold.words.startswith("Too loose by .00150")
    assert floor.stage("3E") is Stage.VERIFY
    assert "on hold" in refused(floor, "3E", bored[0])
    hands.way_out(port, "larger_ring", "bore came out large")
    larger = [["1.6362"] * 4 + [".2500"] * 3 + ["1.376"]]
    ring_set = hands.rings(floor.job, [port], larger)
    setting = hands.set_to(
        hands.make_setting(
            floor.job,
            [port],
            cutter=floor.cutter.id,
            fixture=floor.fixture.id,
            pilot=floor.pilot.id,
        )
    )
    floor.bore("3E", setting, "1.6305")
    hands.correct(setting, "1.6305", 1)
    hands.set_to(setting)
    floor.bore("3E", setting, "1.6322")
    hands.prove(port)
    hands.press(port, hands.rings_of(ring_set)[0])
    with floor.database.read() as session:
        passes = session.exec(
            select(PortPass).where(PortPass.port_id == port.id).order_by(col(PortPass.nth))
        ).all()
        assert [one.outcome for one in passes] == [PassOutcome.NEXT_PASS, None]
        newest = session.exec(select(Verification).order_by(col(Verification.id).desc())).first()
        assert newest is not None
        assert newest.verdict is Verdict.INSIDE


def test_a_ring_reading_struck_after_boring_leaves_the_verdict_without_ground(
    floor: Floor, bored: tuple[Setting, RingSet]
) -> None:
    with floor.database.read() as session:
        od = session.exec(select(Reading).where(Reading.quantity == Quantity.RING_OD)).first()
    assert od is not None
    with floor.hands.writing() as tx:
        strike_reading(tx, od.id, "micrometer was not closed", bored[1])
    with floor.database.read() as session:
        assert session.exec(select(NoLongerStands)).all()
        facts = load_sheet(session, floor.head).facts.port("2E")
        assert "verification" in {kind.value for kind in facts.no_longer_stands}
    ring = floor.hands.rings_of(bored[1])[1]
    with pytest.raises(Refused, match="Still open before the ring goes in"):
        floor.hands.press(floor.ports["2E"], ring, od_check="1.6262")


def test_a_swapped_ring_asks_for_the_bore_to_be_judged_again(
    floor: Floor, bored: tuple[Setting, RingSet]
) -> None:
    ring = floor.hands.rings_of(bored[1])[1]
    with floor.hands.writing() as tx:
        choose_ring(tx, floor.ports["2E"], ring)
    with floor.database.read() as session:
        facts = load_sheet(session, floor.head).facts.port("2E")
        assert facts.verdict is None
        assert facts.no_longer_stands


def test_an_opened_position_that_was_not_cut_is_asked_about_until_someone_says_so(
    floor: Floor, bored: tuple[Setting, RingSet]
) -> None:
    with floor.hands.writing() as tx:
        open_cut(tx, floor.ports["3E"], bored[0].id, was_touched=True)
    with floor.database.read() as session:
        assert load_sheet(session, floor.head).facts.port("3E").opened_unrecorded
    with floor.hands.writing() as tx:
        say_not_cut(tx, floor.ports["3E"])
    with floor.database.read() as session:
        assert not load_sheet(session, floor.head).facts.port("3E").opened_unrecorded


def test_a_gauge_reading_records_the_cut_once(floor: Floor, bored: tuple[Setting, RingSet]) -> None:
    floor.bore("3E", bored[0], "1.6222")
    floor.hands.gauge(floor.ports["3E"], ["1.6222", "1.6223", ".2501"])
    with floor.database.read() as session:
        assert _cuts_of(session, floor, "3E") == 1


def test_a_reading_that_waited_since_before_the_position_was_opened_is_not_of_this_bore(
    floor: Floor, bored: tuple[Setting, RingSet]
) -> None:
    port = floor.ports["3E"]
    with floor.hands.writing() as tx:
        open_cut(tx, port, bored[0].id, was_touched=True)
    with floor.database.read() as session:
        rows = load_sheet(session, floor.head).rows.port(port.id)
        cell = bore_cells(session, rows, floor.job.unit, None)[0][0]
    raw = {cell.name: "1.6222", f"key.{cell.name}": "d" * 32, f"waited.{cell.name}": "86400"}
    with pytest.raises(Refused) as no, floor.hands.writing() as tx:
        gauge(tx, port, GridForm(raw, [cell]).entries, ReadWith())
    assert "was read before 3E was opened again" in no.value.message
    with floor.database.read() as session:
        assert _cuts_of(session, floor, "3E") == 0


def test_the_cutter_set_for_something_else_lapses_what_it_was_set_at(
    floor: Floor, bored: tuple[Setting, RingSet]
) -> None:
    hands, port = floor.hands, floor.ports["3E"]
    again = hands.make_setting(
        floor.job, [port], cutter=floor.cutter.id, fixture=floor.fixture.id, pilot=floor.pilot.id
    )
    hands.set_to(again)
    with floor.database.read() as session:
        first = session.get_one(Setting, bored[0].id)
        assert first.state is SettingState.LAPSED
        assert first.lapsed_because == "the cutter was set for something else"


def test_positions_are_not_signed_while_anything_of_theirs_is_open(
    floor: Floor, bored: tuple[Setting, RingSet]
) -> None:
    with pytest.raises(Refused, match="seat ring in"):
        floor.hands.sign(floor.job, [floor.ports["2E"]])


def test_two_openings_in_one_go_ask_for_no_second_touch(
    floor: Floor, bored: tuple[Setting, RingSet]
) -> None:
    floor.hands.at += timedelta(minutes=2)
    with floor.hands.writing() as tx:
        open_cut(tx, floor.ports["3E"], bored[0].id, was_touched=False)


def _cuts_of(session: Session, floor: Floor, label: str) -> int:
    passes = select(PortPass.id).where(PortPass.port_id == floor.ports[label].id)
    return len(session.exec(select(Cut.id).where(col(Cut.port_pass_id).in_(passes))).all())
